"""One setting of the limit, tried on the recorded load: how often it trips, and what it costs."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.advice.charger import BackOff, taken
from desktop.charging.advice.endurance import Endurance, heat
from desktop.charging.advice.house import House
from desktop.charging.fuel.curve import FuelCurve

Floats = NDArray[np.float64]

_UPPER_Z = 0.8416
"""The chance that is told is one that is not exceeded in four cases of five."""

_ONE_TRIP_S = 600.0


@dataclass(frozen=True, slots=True)
class Bench:
    """What every setting is tried on.

    rated_w     what the set can carry where it stands, W
    watts_per_a what one ampere of limit lets through, all legs together, W
    uneven      load of the busiest leg over the mean of the legs, 1 or more
    most_w      the most that the charger takes, W
    idle_w, slope  what the converter loses
    need_wh     what the battery is to take, Wh
    run_h       how long a run is, h; NaN for as long as the battery takes to have that
    """

    house: House
    rated_w: float
    watts_per_a: float
    uneven: float
    most_w: float
    idle_w: float
    slope: float
    back_off: BackOff
    endurance: Endurance
    need_wh: float
    run_h: float
    curve: FuelCurve | None


@dataclass(frozen=True, slots=True)
class Setting:
    """A setting of the AC input limit, and what came of it.

    limit_a  per leg, A
    trips    how often a set of middling endurance would have tripped in the recorded hours
    expected the same over all that its endurance may be
    chance   of tripping in one run, 0..1, that isn't exceeded in four cases of five
    per_hour trips per hour of running, on the same ground
    hours    of running until the battery has what it needs; NaN where it would never
    fuel     for that, in the curve's unit; NaN without a curve
    peak     the highest load of the busiest leg, as a share of what the set can carry
    """

    limit_a: float
    trips: int
    expected: float
    chance: float
    per_hour: float
    hours: float
    fuel: float
    peak: float


def tried(bench: Bench, limit_a: float) -> Setting:
    """Replay the recorded load under a setting."""
    step_s, limit_w = bench.house.step_s, limit_a * bench.watts_per_a / bench.uneven
    levels = bench.endurance.levels
    counts = np.zeros(len(levels))
    charged_wh, given_wh, peak = 0.0, 0.0, 0.0
    for load in bench.house.stretches:
        charger = taken(load, limit_w, bench.most_w, bench.back_off, step_s)
        given = load + charger
        share = given * bench.uneven / bench.rated_w
        added = heat(share, step_s)
        counts += [_events(level.trips(share, step_s, added), step_s) for level in levels]
        peak = max(peak, float(share.max()))
        settled = np.clip(limit_w - load, 0.0, bench.most_w)
        into = settled * (1 - bench.slope) - bench.idle_w
        charged_wh += float(into.sum()) * step_s / 3600
        given_wh += float(given.sum()) * step_s / 3600
    mean_w = charged_wh / bench.house.hours
    hours = bench.need_wh / mean_w if mean_w > 0 else math.nan
    expected = float(counts @ np.array([level.weight for level in levels]))
    run_h = bench.run_h if bench.run_h > 0 else hours
    per_hour = most_likely_at_most(expected) / bench.house.hours
    chance = -math.expm1(-per_hour * run_h) if math.isfinite(hours) else 1.0
    trips = int(counts[levels.index(bench.endurance.middle)])
    fuel = math.nan
    if bench.curve is not None and math.isfinite(hours):
        fuel = hours * bench.curve.per_hour(given_wh / bench.house.hours)
    return Setting(limit_a, trips, expected, chance, per_hour, hours, fuel, peak)


def most_likely_at_most(count: float) -> float:
    """How many events there may well be where so many were counted: what has not been seen may still come.

    The 80 % point of the gamma distribution with shape count + 1, by Wilson & Hilferty 1931.
    """
    shape = count + 1
    return shape * float((1 - 1 / (9 * shape) + _UPPER_Z / (3 * math.sqrt(shape))) ** 3)


def _events(tripped: NDArray[np.bool_], step_s: float) -> int:
    """How many trips there were: after one the set stands for a while, and is then started into the same load."""
    rows = np.flatnonzero(tripped)
    if not rows.size:
        return 0
    breaks = np.flatnonzero(np.diff(rows) * step_s > _ONE_TRIP_S)
    firsts, lasts = rows[np.append(0, breaks + 1)], rows[np.append(breaks, len(rows) - 1)]
    return int(np.sum(1 + ((lasts - firsts) * step_s // _ONE_TRIP_S).astype(np.int64)))
