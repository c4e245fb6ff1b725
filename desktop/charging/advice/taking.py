"""What a battery took of a charger while it was charged: the most at each state of charge, and what came of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_BIN = 5.0
_HELD_BACK, _MOSTLY = 0.15, 0.5
_FEWEST_ROWS = 60
_LEAST_SOC = 8.0
_LOWEST_YIELD = 0.5


@dataclass(frozen=True, slots=True)
class Taking:
    """What a battery takes.

    most_w  (20,) the most that the charger takes from the AC side in each twentieth of the state of charge, W;
            infinite where the input limit held it back, or nothing was seen
    gained  what the battery has gained of each Wh that the charger took; NaN where not known
    """

    most_w: tuple[float, ...]
    gained: float

    def parts(self, start_soc: float, target_soc: float) -> list[tuple[float, float]]:
        """(share of the way, most W) of each part of the way from a state of charge to another, %."""
        edges = np.arange(len(self.most_w)) * _BIN
        spans = np.clip(target_soc - edges, 0, _BIN) - np.clip(start_soc - edges, 0, _BIN)
        whole = target_soc - start_soc
        return [
            (span / whole, most) for span, most in zip(spans.tolist(), self.most_w, strict=True) if span > 0
        ]


NOTHING_SEEN = Taking((math.inf,) * round(100 / _BIN), math.nan)


def measured_taking(
    time: NDArray[np.int64],
    soc: Floats,
    charger: Floats,
    room: Floats,
    allowed_w: float,
    capacity_wh: float,
    longest_s: float,
    most_gained: float = 1.0,
) -> Taking:
    """From what was recorded.

    soc      (n,) %
    charger  (n,) what the charger takes from the AC side while it charges, W; NaN elsewhere
    room     (n,) what the input limit leaves for it, W
    allowed_w  what the input limit lets through in all, W
    longest_s  readings further apart don't belong together
    most_gained  what a Wh can bring at most: more than that came from the sun
    """
    known = np.flatnonzero(np.isfinite(soc) & np.isfinite(charger))
    most = np.full(round(100 / _BIN), math.inf)
    bins = np.clip(soc[known] // _BIN, 0, len(most) - 1).astype(np.int64)
    held_back = room[known] - charger[known] > _HELD_BACK * allowed_w
    for number in np.unique(bins).tolist():
        here = bins == number
        if here.sum() < _FEWEST_ROWS:
            continue
        slower = held_back[here].mean() > _MOSTLY
        # Towards the top a battery takes less and less: what wasn't reached is taken to be as the last that was.
        most[number:] = float(np.median(charger[known][here & held_back])) if slower else math.inf
    if bins.size:
        _fill_dips(most[bins.min() :])
    gained = _gained(time[known], soc[known], charger[known], capacity_wh, longest_s)
    return Taking(tuple(most.tolist()), float(np.minimum(gained, most_gained)))


def _fill_dips(most: Floats) -> None:
    """What a battery takes both emptier and fuller it takes in between: there the charger was slow, as at the start
    of a run."""
    emptier = np.maximum.accumulate(most)
    fuller = np.maximum.accumulate(most[::-1])[::-1]
    most[:] = np.minimum(emptier, fuller)


def _gained(
    time: NDArray[np.int64], soc: Floats, charger: Floats, capacity_wh: float, longest_s: float
) -> float:
    """Wh gained for each Wh taken, over all charges that brought some percent."""
    if len(time) < _FEWEST_ROWS or not capacity_wh > 0:
        return math.nan
    breaks = np.flatnonzero(np.diff(time) > longest_s * 1e9) + 1
    gained_wh = taken_wh = 0.0
    for rows in np.split(np.arange(len(time)), breaks):
        rise = float(soc[rows[-1]] - soc[rows[0]])
        if rise >= _LEAST_SOC:
            seconds = np.diff(time[rows]) / 1e9
            gained_wh += rise / 100 * capacity_wh
            taken_wh += float(charger[rows[:-1]] @ seconds) / 3600
    if not taken_wh > 0:
        return math.nan
    return max(_LOWEST_YIELD, gained_wh / taken_wh)
