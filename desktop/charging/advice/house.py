"""The house's load as it was recorded, on an even grid: what every setting of the limit is tried on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

COARSEST_S = 10.0
"""Readings further apart hide how long a load step lies on the generator before the charger gives way."""

SHORTEST_S = 600.0
"""A stretch without a gap that is shorter than this is left out."""

_FINEST_S = 1.0
_INRUSH_S = 1.5


@dataclass(frozen=True, slots=True)
class House:
    """Stretches of load without gaps.

    step_s     the step of the grid, s
    stretches  (k,) W each; the highest reading in each step
    """

    step_s: float
    stretches: tuple[Floats, ...]

    @property
    def hours(self) -> float:
        """How long was recorded in all."""
        return sum(map(len, self.stretches)) * self.step_s / 3600

    @classmethod
    def of(
        cls, time: NDArray[np.int64], load: NDArray[np.float32], interval_s: float, gap_s: float
    ) -> House | None:
        """From the rows of a review; None where they lie too far apart to tell.

        time  (n,) UTC nanoseconds
        load  (n,) reconciled load, W, NaN where not known
        """
        if not interval_s <= COARSEST_S:
            return None
        step_s = max(_FINEST_S, interval_s)
        known = np.isfinite(load)
        instants, powers = time[known], load[known].astype(np.float64)
        breaks = np.flatnonzero(np.diff(instants) > gap_s * 1e9) + 1
        stretches = tuple(
            _on_grid(part_time, part, step_s)
            for part_time, part in zip(np.split(instants, breaks), np.split(powers, breaks), strict=True)
            if len(part_time) and part_time[-1] - part_time[0] >= SHORTEST_S * 1e9
        )
        return cls(step_s, stretches) if stretches else None


def _on_grid(time: NDArray[np.int64], load: Floats, step_s: float) -> Floats:
    """The highest reading in each step; where there is none the one before holds."""
    cells = ((time - time[0]) // round(step_s * 1e9)).astype(np.int64)
    firsts = np.concatenate(([0], 1 + np.flatnonzero(np.diff(cells))))
    highest = np.maximum.reduceat(load, firsts)
    latest = np.searchsorted(cells[firsts], np.arange(int(cells[-1]) + 1), side="right") - 1
    return _without_spikes(highest[latest]) if step_s > _INRUSH_S else highest[latest]


def _without_spikes(load: Floats) -> Floats:
    """The same without what stands in a single reading: the inrush of a motor is over long before the next."""
    if len(load) < 3:
        return load
    pairs = np.minimum(load[:-1], load[1:])
    calm: Floats = np.maximum(np.append(pairs, load[-1]), np.insert(pairs, 0, load[0]))
    return np.minimum(load, calm)
