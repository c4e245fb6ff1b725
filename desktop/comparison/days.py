"""How much one run differs from another because the house takes more in one hour than in another.

What happens within a run doesn't tell that: an evening is not a morning. The whole recording does, where it is
long enough.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from desktop.comparison.estimate import FEWEST_PARTS
from desktop.comparison.side import Floats, Side

USUAL_SHARE = 0.5
"""Assumed where a recording is too short to tell: by so much of itself a house's load differs from one run to the
next, one standard deviation (common practice, no source)."""

_COVERED = 0.5


def load_sd(side: Side) -> float:
    """Standard deviation of the house's mean load over a side's runs, W: as recorded, else assumed; NaN where the
    load isn't known.
    """
    recorded = recorded_load_sd(side)
    if math.isnan(recorded) and side.sessions:
        return USUAL_SHARE * abs(side.mean("load")) / math.sqrt(len(side.sessions))
    return recorded


def recorded_load_sd(side: Side) -> float:
    """The same as the load of the whole recording varies from one stretch as long as a run to the next; NaN where
    there are too few of these.
    """
    minutes = side.review.minutes
    load = minutes.stream("load")
    load = np.where(np.isnan(load), minutes.measured("load"), load)
    known = np.isfinite(load)
    if not side.sessions or not known.any():
        return math.nan
    length_s = sum(one.end - one.start for one in side.sessions) / 1e9 / len(side.sessions)
    means = _stretches(minutes.time[known], load[known], length_s)
    if len(means) < FEWEST_PARTS:
        return math.nan
    return float(means.std(ddof=1)) / math.sqrt(len(side.sessions))


def _stretches(time: NDArray[np.int64], load: Floats, length_s: float) -> Floats:
    """Means over consecutive stretches, those with many readings missing left out."""
    number = ((time - time[0]) / 1e9 // length_s).astype(np.int64)
    count = np.bincount(number)
    sums = np.bincount(number, load)
    full = count >= _COVERED * count.max()
    means: Floats = sums[full] / count[full]
    return means
