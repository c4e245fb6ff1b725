"""Days of load and sun that the outlook draws from: each a row of five-minute means from local midnight on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.outlook.rule import SLOTS

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Days:
    """(d, SLOTS) W each, nowhere NaN and never negative.

    load, dc_load   what the house takes on the AC and on the DC side
    sun_dc, sun_ac  what solar could give on either side
    date            (d,) int64, the local date as days since 1970-01-01
    weight          (d,) what each day tells: the share of it that was recorded
    load_typed, sun_typed  True where a person said what a day is like, and no recording
    in_order    False where the order of days says nothing of how days follow each other
    """

    load: Floats
    dc_load: Floats
    sun_dc: Floats
    sun_ac: Floats
    date: NDArray[np.int64]
    weight: Floats
    load_typed: bool = False
    sun_typed: bool = False
    in_order: bool = True

    def __post_init__(self) -> None:
        for one in (self.load, self.dc_load, self.sun_dc, self.sun_ac):
            if one.shape != (len(self.date), SLOTS):
                raise ValueError(f"days must be {len(self.date)} rows of {SLOTS} steps")
            if not (np.isfinite(one).all() and (one >= 0).all()):
                raise ValueError("days must be known and not negative throughout")

    def __len__(self) -> int:
        return len(self.date)

    @property
    def demand_wh(self) -> Floats:
        """(d,) what the house takes in each day, Wh."""
        total: Floats = (self.load + self.dc_load).sum(axis=1) * 24 / SLOTS
        return total

    @property
    def sun_wh(self) -> Floats:
        """(d,) what solar could give in each day, Wh."""
        total: Floats = (self.sun_dc + self.sun_ac).sum(axis=1) * 24 / SLOTS
        return total
