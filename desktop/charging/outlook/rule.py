"""When the generator is started and stopped: by the battery's state of charge, by the hours of the day, or both."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SLOT_S = 300
"""A day is worked through in steps of five minutes."""

SLOTS = 86_400 // SLOT_S
"""Steps of a day, the first one from local midnight on."""

NEARLY_FULL = 99.9
"""A stop at 100 % is this: the last trace of charge takes forever."""


@dataclass(frozen=True, slots=True)
class Hours:
    """From one hour of the day until another, across midnight where `until` is not later."""

    start: float
    until: float

    @property
    def length(self) -> float:
        """How long, h."""
        return (self.until - self.start) % 24 or 24.0

    def within(self) -> NDArray[np.bool_]:
        """(SLOTS,) True in the steps whose middle lies within."""
        middle = (np.arange(SLOTS) + 0.5) * 24 / SLOTS
        inside: NDArray[np.bool_] = (middle - self.start) % 24 < self.length
        return inside


@dataclass(frozen=True, slots=True)
class Rule:
    """One way to run the generator.

    start_soc  it is started at this state of charge, %
    stop_soc   it is stopped at this one, %
    limit_a    the AC input limit, A per leg
    run        hours in which it is started below `run_below` already; None for none
    run_below  state of charge, %; only read with `run`
    """

    start_soc: float
    stop_soc: float
    limit_a: float
    run: Hours | None = None
    run_below: float = 0.0

    def thresholds(self, quiet: Hours | None) -> tuple[Floats, Floats]:
        """(SLOTS,) state of charge at or below which it starts, and at or above which it stops, %.

        In quiet hours it neither starts nor goes on running: both are −inf.
        """
        start = np.full(SLOTS, self.start_soc, np.float64)
        stop = np.full(SLOTS, min(self.stop_soc, NEARLY_FULL), np.float64)
        if self.run is not None:
            start[self.run.within()] = max(self.run_below, self.start_soc)
        if quiet is not None:
            still = quiet.within()
            start[still] = stop[still] = -np.inf
        return start, stop
