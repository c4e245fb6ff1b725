"""The house's load as it was recorded, on an even grid: what every setting of the limit is tried on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

COARSEST_S = 10.0
"""Readings further apart hide how long a load step lies on the generator before the charger gives way."""

SHORTEST_S = 600.0
"""A stretch without a gap that is shorter than this is left out."""

STEP_S = 1.0
"""Of the grid, finer than the readings may be: whether a set stalls is a matter of seconds."""

_INRUSH_S = 1.5
_DAY_H = (6.0, 20.0)
"""When sets are started, by the clock: not at night (common practice)."""


@dataclass(frozen=True, slots=True)
class House:
    """Stretches of load without gaps.

    step_s     the step of the grid, s
    stretches  (k,) W each; the highest reading in each step
    begun      (k,) how many steps before each, and in all, a run may begin with: those by day, where there are any
    """

    step_s: float
    stretches: tuple[Floats, ...]
    begun: tuple[NDArray[np.int64], ...]

    @property
    def hours(self) -> float:
        """How long was recorded in all."""
        return sum(map(len, self.stretches)) * self.step_s / 3600

    @classmethod
    def of(
        cls,
        time: NDArray[np.int64],
        load: NDArray[np.float32],
        interval_s: float,
        gap_s: float,
        timezone: str = "UTC",
    ) -> House | None:
        """From the rows of a review; None where they lie too far apart to tell.

        time  (n,) UTC nanoseconds
        load  (n,) reconciled load, W, NaN where not known
        """
        if not interval_s <= COARSEST_S:
            return None
        known = np.isfinite(load)
        instants, powers = time[known], load[known].astype(np.float64)
        lasting = without_spikes(powers) if interval_s > _INRUSH_S else powers
        breaks = np.flatnonzero(np.diff(instants) > gap_s * 1e9) + 1
        stretches = zip(
            np.split(instants, breaks), np.split(powers, breaks), np.split(lasting, breaks), strict=True
        )
        parts = [
            (part_time, _on_grid(part_time, part, part_lasting, STEP_S))
            for part_time, part, part_lasting in stretches
            if len(part_time) and part_time[-1] - part_time[0] >= SHORTEST_S * 1e9
        ]
        if not parts:
            return None
        by_day = [_by_day(int(part_time[0]), len(part), timezone) for part_time, part in parts]
        if not any(part.any() for part in by_day):
            by_day = [~part for part in by_day]
        begun = tuple(np.append(0, np.cumsum(part)).astype(np.int64) for part in by_day)
        return cls(STEP_S, tuple(part for _, part in parts), begun)


def _by_day(begin: int, steps: int, timezone: str) -> NDArray[np.bool_]:
    """(steps,) True where it is day by the clock; `begin` UTC nanoseconds."""
    offset = datetime.fromtimestamp(begin / 1e9, ZoneInfo(timezone)).utcoffset()
    local_s = begin / 1e9 + (offset.total_seconds() if offset is not None else 0.0)
    hour = (local_s + STEP_S * np.arange(steps)) % 86_400 / 3600
    day: NDArray[np.bool_] = (hour >= _DAY_H[0]) & (hour < _DAY_H[1])
    return day


def _on_grid(time: NDArray[np.int64], load: Floats, lasting: Floats, step_s: float) -> Floats:
    """The highest reading in each step; where there is none, what lasts of the one before holds.

    lasting  (n,) `load` without what stands in a single reading: of an inrush that is one step's matter
    """
    cells = ((time - time[0]) // round(step_s * 1e9)).astype(np.int64)
    firsts = np.concatenate(([0], 1 + np.flatnonzero(np.diff(cells))))
    read = cells[firsts]
    latest = np.searchsorted(read, np.arange(int(cells[-1]) + 1), side="right") - 1
    grid: Floats = np.maximum.reduceat(lasting, firsts)[latest]
    grid[read] = np.maximum.reduceat(load, firsts)
    return grid


def without_spikes(load: Floats) -> Floats:
    """The same without what stands in a single reading: the inrush of a motor is over long before the next."""
    if len(load) < 3:
        return load
    pairs = np.minimum(load[:-1], load[1:])
    calm: Floats = np.maximum(np.append(pairs, load[-1]), np.insert(pairs, 0, load[0]))
    return np.minimum(load, calm)
