"""What a charge will come to, as it can be said at an instant from the rows up to it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from desktop.charging.forecast.ahead import Ahead, powers_ahead
from desktop.charging.forecast.ceilings import Limit, ceilings_of, limited_now
from desktop.charging.forecast.paths import Paths, run_paths
from desktop.charging.forecast.store import Store, store_of
from desktop.charging.forecast.tank import emptied
from desktop.charging.forecast.taper import acceptance
from desktop.charging.forecast.view import View, view_of
from desktop.flow.learned import Learned
from desktop.flow.minutes import Minutes
from desktop.site import Site

Floats = NDArray[np.float64]

PATHS = 200
FAN_TIMES = 48
FULL_SOC = 100.0

_SHORTEST_H, _LONGEST_H = 1.0, 24.0
_STEPS = 180
_LEAST_MINUTES = 4


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
    """

    at: int
    targets: tuple[Target, ...]
    tank_empty: Span | None
    fan: Fan = field(repr=False, compare=False)
    limited_by: Limit

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
    store = store_of(view, site)
    if store is None:
        return None
    ceilings = ceilings_of(view, site)
    accepts = acceptance(view, ceilings, store, site)
    goals = [soc for soc in sorted({site.battery.target_soc, FULL_SOC}) if soc > store.soc]
    hours = _horizon(view, store, max(goals, default=FULL_SOC))
    step_s = 60.0 * max(1, math.ceil(hours * 60 / _STEPS))
    steps = math.ceil(hours * 3600 / step_s)
    chance = np.random.default_rng(round(view.session_start // 60_000_000_000))
    ahead = powers_ahead(view, ceilings, site, steps, step_s, PATHS, chance)
    paths = run_paths(view, ceilings, store, accepts, ahead, chance)
    begin = view.end
    return Forecast(
        at=at,
        targets=tuple(Target(soc, _span(paths.reaches(soc), begin)) for soc in goals),
        tank_empty=_tank(minutes, learned, site, view, paths, ahead, chance),
        fan=_fan(paths, begin),
        limited_by=limited_now(view, ceilings, math.exp(accepts.at(store.soc))),
    )


def _horizon(view: View, store: Store, goal: float) -> float:
    """How far to look, h: well beyond what the present current would need."""
    now_a = max(view.current_now, 1e-3)
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
