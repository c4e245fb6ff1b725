"""A quantity that is compared: what it is called, and how each side tells it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.comparison.days import load_sd
from desktop.comparison.estimate import FEWEST_PARTS, UNKNOWN, Estimate, parts, ratio_sd
from desktop.comparison.side import Side

Floats = NDArray[np.float64]

MOST_PARTS = 12
_PART_S = 120.0
"""A run is cut into up to so many parts, none shorter than this."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """One line of the comparison.

    key    its name in JSON
    label  what it is called (English template)
    unit   a key of UNITS in `units`
    of     what a side says of it
    """

    key: str
    label: str
    unit: str
    of: Callable[[Side], Estimate]


def spread(side: Side, above: Floats, below: Floats) -> float:
    """By how much the ratio of two rates, each (m,) per minute of running, varies by chance; NaN where the run is
    too short to tell.
    """
    house, house_sd = side.series("load"), load_sd(side)
    driven = bool(np.isfinite(house).all()) and math.isfinite(house_sd)
    table = np.stack((above, below, house if driven else np.zeros(len(house))))
    known = np.isfinite(table).all(axis=0)
    seconds = side.seconds[known]
    count = min(MOST_PARTS, int(seconds.sum() / _PART_S))
    if count < FEWEST_PARTS:
        return math.nan
    sums = parts(np.vstack((table[:, known] * seconds, seconds)), seconds, count)
    return ratio_sd(sums[0], sums[1], sums[2] / sums[3], house_sd if driven else 0.0)


def rate(side: Side, value: float, power: Floats, doubt: float) -> Estimate:
    """A mean power.

    value  W
    power  (m,) W, minute by minute
    doubt  what the meters may get wrong of it, as a share
    """
    if not math.isfinite(value):
        return UNKNOWN
    chance = spread(side, power, np.ones(len(power)))
    return Estimate(value / 1000, chance / 1000, doubt * abs(value) / 1000)


def share(side: Side, value: float, part: Floats, whole: Floats, doubt: float) -> Estimate:
    """A share, 0..1, of parts in wholes, (m,) W each, minute by minute; `doubt` as in `rate`."""
    if not math.isfinite(value):
        return UNKNOWN
    return Estimate(value, spread(side, part, whole), doubt * abs(value))


def doubt_of(side: Side, stream: str) -> float:
    """What the meters may get wrong of a stream while the generator ran, as a share; NaN where not known."""
    mean = abs(side.mean(stream))
    return side.doubt(stream) / mean if mean > 0 else 0.0 if mean == 0 else math.nan
