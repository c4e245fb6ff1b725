"""Charge sessions: from the first to the last moment at which the generator carries load."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Stop = Literal["normal", "under load", "dry tank", "unclear", "still running"]


@dataclass(frozen=True, slots=True)
class Session:
    """One run of the generator under load. Times UTC nanoseconds; energies Wh, NaN where not known.

    mean_load_share  mean generator power over its (derated) rating, 0..1; NaN without a rating
    peak_input_a     highest input current of any leg, A
    """

    start: int
    end: int
    generator_wh: float
    to_load_wh: float
    to_battery_wh: float
    losses_wh: float
    solar_to_battery_wh: float
    soc_start: float
    soc_end: float
    mean_load_share: float
    peak_input_a: float
    stop: Stop
