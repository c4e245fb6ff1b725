"""One setting of the limit, tried on the recorded load: how often it trips, and what it costs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from desktop.charging.advice.charger import BackOff, Held
from desktop.charging.advice.endurance import Endurance, Reached, heat
from desktop.charging.advice.house import House
from desktop.charging.advice.legs import Uneven
from desktop.charging.advice.replay import Replay, lively, memory_s, whole
from desktop.charging.advice.trips import Trips, most_likely_at_most
from desktop.charging.fuel.curve import FuelCurve

Floats = NDArray[np.float64]

LIVELY_BELOW = 0.97
"""A limit below this share of the rating overloads a set only where the house's load has just risen."""

_MEANS_STEPS = 10
_MOST = 2.0


@dataclass(frozen=True, slots=True)
class Bench:
    """What every setting is tried on.

    rated_w     what the set can carry where it stands, W
    watts_per_a what one ampere of limit lets through, all legs together, W
    uneven      how the house's load lies on the legs
    most_w      the most that the charger takes, W
    gained      what the battery gains of each Wh that the charger takes, less idle_w, W, all the time
    way         (share, most W) of each part of the way to the target: the most that the charger takes there
    whole, lively  each stretch of the house: every step, and those at which a limit below LIVELY_BELOW may overload
    loads, on_busiest  (k,) some of the house's loads, evenly drawn, W
    need_wh     what the battery is to take, Wh
    run_h       how long a run is, h; NaN for as long as the battery takes to have that
    """

    house: House
    rated_w: float
    watts_per_a: float
    uneven: Uneven
    most_w: float
    gained: float
    idle_w: float
    way: tuple[tuple[float, float], ...]
    back_off: BackOff
    held: Held
    endurance: Endurance
    need_wh: float
    run_h: float
    curve: FuelCurve | None
    whole: tuple[Replay, ...] = field(init=False, repr=False)
    lively: tuple[Replay, ...] = field(init=False, repr=False)
    loads: Floats = field(init=False, repr=False)
    on_busiest: Floats = field(init=False, repr=False)

    def __post_init__(self) -> None:
        step_s, memory = self.house.step_s, memory_s(self.back_off, min(self.most_w, _MOST * self.rated_w))
        pairs = [(load, self.uneven.on_busiest(load)) for load in self.house.stretches]
        all_steps = tuple(whole(load, busiest, step_s) for load, busiest in pairs)
        few = tuple(lively(load, busiest, self.rated_w, memory, step_s) for load, busiest in pairs)
        loads = np.concatenate(self.house.stretches)[::_MEANS_STEPS]
        for name, value in (("whole", all_steps), ("lively", few), ("loads", loads)):
            object.__setattr__(self, name, value)
        object.__setattr__(self, "on_busiest", self.uneven.on_busiest(loads))


@dataclass(frozen=True, slots=True)
class Setting:
    """A setting of the AC input limit, and what came of it.

    limit_a  per leg, A
    trips    how often a set of middling endurance would have tripped in the recorded hours
    expected the same over all that its endurance may be
    chance   of tripping in one run, 0..1, that isn't exceeded in four cases of five
    likely   of tripping in one run, 0..1, as is to be expected: by what was counted, and what wasn't seen
    run_h    how long such a run is, h
    hours    of running until the battery has what it needs; NaN where it would never
    fuel     for that, in the curve's unit; NaN without a curve
    peak     the highest load of the busiest leg, as a share of what the set can carry
    held     what the busiest leg is held at while charging, likewise
    """

    limit_a: float
    trips: int
    expected: float
    chance: float
    likely: float
    run_h: float
    hours: float
    fuel: float
    peak: float
    held: float

    @property
    def likely_per_hour(self) -> float:
        """Trips of the kind that is `likely`, for each hour of running."""
        return self.likely / self.run_h

    def with_stops(self, count: int, running_h: float) -> Setting:
        """The same where the set also stopped so often in so many hours, and the replay doesn't show why."""
        rate = 1.0 / running_h
        others, well = -math.expm1(-count * rate * self.run_h), most_likely_at_most(count) * rate
        return replace(
            self,
            likely=1.0 - (1.0 - self.likely) * (1.0 - others),
            chance=1.0 - (1.0 - self.chance) * math.exp(-well * self.run_h),
        )


def no_safer_higher(settings: Iterable[Setting]) -> Iterator[Setting]:
    """The same, in rising order: an hour under a higher limit is never safer than one under a lower.

    What wasn't seen is reckoned from how far the house lifted the input from where it was held; where the charger
    itself takes less than it may, or one leg carries more than the others, that would seem to shrink.
    """
    likely = chance = 0.0
    for each in settings:
        if not math.isfinite(each.run_h):
            yield each
            continue
        likely = max(likely, _rate(each.likely, each.run_h))
        chance = max(chance, _rate(each.chance, each.run_h))
        yield replace(
            each, likely=-math.expm1(-likely * each.run_h), chance=-math.expm1(-chance * each.run_h)
        )


def _rate(chance: float, run_h: float) -> float:
    return -math.log1p(-chance) / run_h if chance < 1.0 else math.inf


def tried(bench: Bench, limit_a: float) -> Setting:
    """Replay the recorded load under a setting."""
    house, levels = bench.house, bench.endurance.levels
    limit_w = (limit_a - bench.held.below_a) * bench.watts_per_a
    hours = _hours(bench, limit_w)
    run_h = bench.run_h if bench.run_h > 0 else hours
    seen = [Trips(run_h) for _ in levels]
    replays = bench.lively if limit_w < LIVELY_BELOW * bench.rated_w else bench.whole
    settled = _settled_w(bench, limit_w) / bench.rated_w
    peak, reached = settled.max(), Reached()
    for replay, begun in zip(replays, house.begun, strict=True):
        share, busiest = replay.shares(limit_w, bench.most_w, bench.back_off, bench.rated_w, house.step_s)
        added = heat(busiest, replay.seconds)
        reached.take(share, added)
        for level, trips in zip(levels, seen, strict=True):
            trips.add(replay.rows[level.trips(share, house.step_s, added)], begun, house.step_s)
        peak = max(peak, busiest.max(initial=0.0))
    weights = np.array([level.weight for level in levels])
    held = limit_w / bench.rated_w
    # Where the charger takes less than the limit leaves it, the house lifts the input from there.
    base = min(held, float(np.median(settled)))
    rooms = [level.room(reached, base, house.step_s) for level in levels]
    chances = np.array([trips.chances(house.hours, room) for trips, room in zip(seen, rooms, strict=True)]).T
    fuel = math.nan
    if bench.curve is not None and math.isfinite(hours):
        fuel = hours * bench.curve.per_hour(float(settled.mean()) * bench.rated_w)
    return Setting(
        limit_a=limit_a,
        trips=seen[levels.index(bench.endurance.middle)].count,
        expected=float(np.array([trips.count for trips in seen]) @ weights),
        chance=float(chances[1] @ weights),
        likely=float(chances[0] @ weights),
        run_h=run_h,
        hours=hours,
        fuel=fuel,
        peak=float(peak),
        held=held,
    )


def _settled_w(bench: Bench, limit_w: float) -> Floats:
    """(k,) what the set carries where the charger has given way, W."""
    left = np.clip(limit_w - bench.on_busiest, 0.0, bench.most_w)
    carried: Floats = bench.loads + left
    return carried


def _hours(bench: Bench, limit_w: float) -> float:
    """Until the battery has what it needs, on the mean of the recorded hours; NaN where it never would."""
    left = np.clip(limit_w - bench.on_busiest, 0.0, bench.most_w)
    hours = 0.0
    for share, most in bench.way:
        into = float(np.minimum(left, most).mean()) * bench.gained - bench.idle_w
        if not into > 0:
            return math.nan
        hours += share * bench.need_wh / into
    return hours
