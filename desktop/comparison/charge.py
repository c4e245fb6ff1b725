"""Time and fuel that raising the battery's charge takes, over the states of charge that both sides went through.

A battery takes less the fuller it is: what was charged from 20 % and what was charged from 80 % can't be compared.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from desktop.comparison.estimate import UNKNOWN, Estimate
from desktop.comparison.quantity import spread
from desktop.comparison.side import Floats, Side

POINTS = 10.0
LEAST_POINTS = 3.0
MOST_PAUSE_S = 180.0
_LEAST_STEPS = 5
_UNIFORM = math.sqrt(12.0)


def common_range(a: Side, b: Side) -> tuple[float, float]:
    """Lowest and highest state of charge that both went through; NaN where there is none."""
    (low_a, high_a), (low_b, high_b) = a.charged, b.charged
    low, high = max(low_a, low_b), min(high_a, high_b)
    return (low, high) if high - low >= LEAST_POINTS else (math.nan, math.nan)


@dataclass(frozen=True, slots=True)
class Raising:
    """A side's way through a range of states of charge.

    seconds  of running for 10 points
    fuel     units burnt for 10 points; not known without a curve
    """

    seconds: Estimate
    fuel: Estimate

    @classmethod
    def of(cls, side: Side, low: float, high: float) -> Raising:
        """What 10 points took between `low` and `high` percent."""
        gained, inside = _gain(side, low, high)
        points = float(gained.sum())
        step = side.step("battery_soc")
        if not points >= max(LEAST_POINTS, _LEAST_STEPS * step):
            return cls(UNKNOWN, UNKNOWN)
        # Each session's two ends are read to a whole step.
        read = step / _UNIFORM * math.sqrt(2 * len(side.sessions)) / points
        seconds = _each(side, 3600 * inside, gained, read)
        curve = side.review.fuel.curve
        if curve is None:
            return cls(seconds, UNKNOWN)
        burning = curve.idle + curve.per_kwh * side.series("generator") / 1000
        fuel = _each(side, inside * burning, gained, read)
        return cls(seconds, Estimate(fuel.value, fuel.chance, curve.sd * fuel.value))


def _each(side: Side, per_hour: Floats, gained: Floats, read: float) -> Estimate:
    """For 10 points.

    per_hour  (m,) what goes on in each minute, for an hour
    gained    (m,) points won in each minute
    read      what the reading of the state of charge may get wrong, as a share
    """
    hours = side.seconds / 3600
    known = np.isfinite(per_hour)
    points = float(gained[known].sum())
    if not points > 0:
        return UNKNOWN
    value = POINTS * float((per_hour * hours)[known].sum()) / points
    # The spread wants rates, and is told what is won in each hour.
    chance = POINTS * spread(side, per_hour, gained / hours)
    return Estimate(value, math.hypot(chance, read * value))


def _gain(side: Side, low: float, high: float) -> tuple[Floats, Floats]:
    """(m,) points won in each minute within the range, and (m,) 1 where it lies in it."""
    soc = side.soc
    within = np.clip(soc, low, high)
    gained = np.zeros(len(soc))
    apart = np.flatnonzero(np.diff(side.time) > 1e9 * (side.seconds[:-1] + MOST_PAUSE_S))
    for rows in np.split(np.arange(len(soc)), apart + 1):
        if len(rows) > 1:
            gained[rows] = np.gradient(within[rows])
    gained[~np.isfinite(gained)] = 0.0
    inside = ((soc >= low) & (soc <= high)).astype(np.float64)
    return gained, inside
