"""What a charge will come to, as it can be said at an instant from the rows up to it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from desktop.charging.forecast.ahead import Ahead, powers_ahead
from desktop.charging.forecast.ceilings import Ceilings, ceilings_of
from desktop.charging.forecast.guesses import LEAST, Guess, guesses_of
from desktop.charging.forecast.limits import Limit, floats, let_down, limited_now, limits_lately
from desktop.charging.forecast.paths import Paths, run_paths
from desktop.charging.forecast.store import Store, store_of
from desktop.charging.forecast.tank import emptied
from desktop.charging.forecast.taper import Acceptance, acceptance
from desktop.charging.forecast.view import View, view_of
from desktop.flow.learned import Learned
from desktop.flow.minutes import Minutes
from desktop.site import Site

Floats = NDArray[np.float64]

PATHS = 200
FAN_TIMES = 48
FULL_SOC = 100.0

FULL_ENOUGH = 99.0
"""Chargers end a charge and gauges call it full about here; the last percent is never quite filled."""

_SHORTEST_H, _LONGEST_H = 1.0, 24.0
_STEPS = 180
_LEAST_MINUTES = 4
_SOME = 5.0
_LIKELY_LEAD = 0.5


@dataclass(frozen=True, slots=True)
class Span:
    """An instant with its 10 and 90 % points, UTC nanoseconds. `at` is the median, None where less than half of
    what may happen ever comes to it within a day; `low`, `high` likewise."""

    at: int | None
    low: int | None
    high: int | None


@dataclass(frozen=True, slots=True)
class Target:
    """When a state of charge (percent) will be reached."""

    soc: float
    when: Span


@dataclass(frozen=True, slots=True)
class Fan:
    """State of charge ahead, percent: (k,) times, UTC nanoseconds, and the 10, 50 and 90 % points there."""

    time: NDArray[np.int64]
    low: Floats
    middle: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class Forecast:
    """A forecast of a charge that goes on as it is: the set runs, nothing is changed.

    at          the instant at which it is said, UTC nanoseconds
    targets     the site's target and full, as far as they lie ahead
    tank_empty  when the set would have burnt what is in the tank; None where the fuel isn't known
    fan         what becomes of the state of charge
    limited_by  what holds the charge power at the instant
    limits      what held it in a good part of the last hour
    untold      states of charge that lie ahead and of which nothing can be said
    """

    at: int
    targets: tuple[Target, ...]
    tank_empty: Span | None
    fan: Fan = field(repr=False, compare=False)
    limited_by: Limit
    limits: tuple[Limit, ...]
    untold: tuple[float, ...] = ()

    def target(self, soc: float) -> Span | None:
        """When this state of charge will be reached; None where it isn't among the targets."""
        return next((one.when for one in self.targets if one.soc == soc), None)


def forecast(minutes: Minutes, learned: Learned, site: Site, at: int) -> Forecast | None:
    """The forecast at an instant; None where nothing is being charged, or nothing can be said.

    Of the minute book only what was over at the instant is looked at. The same rows give the same forecast.
    """
    view = view_of(minutes, learned, site, at)
    if view is None or view.session_minutes < _LEAST_MINUTES:
        return None
    cases = _cases(view, site)
    if not cases:
        return None
    likeliest = cases[0]
    goals, untold = _goals(view, cases, site)
    step_s, steps = _steps(view, likeliest, goals, untold)
    chance = np.random.default_rng(round(view.session_start // 60_000_000_000))
    every = [_worked(view, case, steps, step_s, chance) for case in cases]
    ahead, paths = Ahead.joined([one for one, _ in every]), Paths.joined([one for _, one in every])
    begin = view.end
    limit = _limit(view, likeliest)
    return Forecast(
        at=at,
        targets=tuple(Target(soc, _reached(paths, soc, begin)) for soc in goals),
        tank_empty=_tank(minutes, learned, site, view, paths, ahead, chance),
        fan=_fan(paths, begin),
        limited_by=limit,
        limits=limits_lately(view, likeliest.ceilings, limit),
        untold=untold,
    )


@dataclass(frozen=True, slots=True)
class _Case:
    """One battery that it may be, and limits that may hold it. `done`: its charger is."""

    weight: float
    guess: Guess
    store: Store
    ceilings: Ceilings
    accepts: Acceptance
    done: bool


def _cases(view: View, site: Site) -> list[_Case]:
    """The likeliest first; none where nothing tells what a percent is."""
    found = []
    for guess in guesses_of(view, site):
        store = store_of(view, guess.site)
        if store is None:
            continue
        for weight, ceilings in ceilings_of(view, guess.site):
            if guess.weight * weight < LEAST:
                continue
            accepts = acceptance(view, ceilings, store, guess.site)
            done = floats(view, ceilings, guess.site, store.capacity_ah)
            held = let_down(ceilings, view) if done else ceilings
            found.append(_Case(guess.weight * weight, guess, store, held, accepts, done))
    return sorted(found, key=lambda case: -case.weight)


def _steps(view: View, case: _Case, goals: list[float], untold: tuple[float, ...]) -> tuple[float, int]:
    """How long a step is, s, and how many there are."""
    beyond = case.store.soc + _SOME if untold else FULL_SOC
    goal = max(goals, default=beyond)
    hours = _SHORTEST_H if case.done and not goals else _horizon(view, case.store, goal)
    step_s = 60.0 * max(1, math.ceil(hours * 60 / _STEPS))
    return step_s, math.ceil(hours * 3600 / step_s)


def _worked(
    view: View, case: _Case, steps: int, step_s: float, chance: np.random.Generator
) -> tuple[Ahead, Paths]:
    """As many paths as it is likely."""
    count = max(1, round(PATHS * case.weight))
    ahead = powers_ahead(view, case.ceilings, case.guess.site, steps, step_s, count, chance)
    return ahead, run_paths(view, case.ceilings, case.store, case.accepts, ahead, chance)


def _limit(view: View, case: _Case) -> Limit:
    if case.done:
        return "float"
    return limited_now(view, case.ceilings, case.guess.site, case.accepts.at(case.store.soc))


def _goals(view: View, cases: list[_Case], site: Site) -> tuple[list[float], tuple[float, ...]]:
    """The states of charge to tell of, and those of which nothing can be told.

    Lead-acid takes its last part ever more slowly, and chargers stop before: by a tail or a time that nothing
    tells. Only where this battery was full lately is it known that it gets there.
    """
    soc_now = cases[0].store.soc
    ahead = [soc for soc in sorted({site.battery.target_soc, FULL_SOC}) if min(soc, FULL_ENOUGH) > soc_now]
    last = [soc for soc in ahead if soc >= FULL_ENOUGH]
    if cases[0].done:
        return [soc for soc in ahead if soc not in last], ()
    lead = sum(case.weight for case in cases if case.guess.lead_acid)
    if lead <= _LIKELY_LEAD or _was_full(view):
        return ahead, ()
    return [soc for soc in ahead if soc not in last], tuple(last)


def _was_full(view: View) -> bool:
    """True where a charge of the last days came to full."""
    before = slice(0, view.first)
    return bool(((view.soc[before] >= FULL_ENOUGH) & (view.battery[before] > 0)).any())


def _reached(paths: Paths, soc: float, begin: int) -> Span:
    return _span(paths.reaches(min(soc, FULL_ENOUGH)), begin)


def _horizon(view: View, store: Store, goal: float) -> float:
    """How far to look, h: well beyond what the present current would need."""
    now_a = max(view.current_lately, 1e-3)
    straight = max(goal - store.soc, 0.0) * float(np.exp(store.log_mean(goal))) / now_a
    return float(np.clip(2.0 * straight + 1.0, _SHORTEST_H, _LONGEST_H))


def _span(seconds: Floats, begin: int) -> Span:
    """Median and range of (p,) seconds after `begin`; infinite ones are never."""
    low, middle, high = (float(np.quantile(seconds, share, method="lower")) for share in (0.1, 0.5, 0.9))
    return Span(*(begin + round(one * 1e9) if math.isfinite(one) else None for one in (middle, low, high)))


def _fan(paths: Paths, begin: int) -> Fan:
    rows = np.unique(np.linspace(0, len(paths.seconds) - 1, FAN_TIMES).astype(np.int64))
    ranked = np.sort(paths.soc[rows], axis=1)
    places = [round(share * (ranked.shape[1] - 1)) for share in (0.1, 0.5, 0.9)]
    time = begin + np.round(paths.seconds[rows] * 1e9).astype(np.int64)
    return Fan(time, *(ranked[:, place] for place in places))


def _tank(
    minutes: Minutes,
    learned: Learned,
    site: Site,
    view: View,
    paths: Paths,
    ahead: Ahead,
    chance: np.random.Generator,
) -> Span | None:
    seconds = emptied(minutes, learned, site, view, paths, ahead, chance)
    return None if seconds is None else _span(seconds, view.end)
