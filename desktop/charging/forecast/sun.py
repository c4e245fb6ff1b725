"""The sun ahead: a clear day's course by the time of day, times how clear it has been of late."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from desktop.charging.forecast.sky import Arrays
from desktop.charging.forecast.zone_place import anywhere, place_of
from desktop.site import Site

if TYPE_CHECKING:
    from desktop.charging.forecast.draw import Draw
    from desktop.charging.forecast.view import View

Floats = NDArray[np.float64]

_DAY_NS = 86_400_000_000_000
_NOW_MINUTES = 5
_SMOOTH_S = 1800.0
_FADE_S = 900.0
_DRIFT_S = 3 * 3600.0
_LEVEL_SD = 0.35
_POOL_S = 3 * 3600.0
_LEAST_SHARE = 0.05
_ABOVE_PEAK = 1.15
_DAYS = 7
_BRIGHT = 0.1
_BEFORE_MINUTES = 30.0
_MIDDLING = 0.5
_UNSEEN = 1.0
_LEAST_DAYS = 3
_ARRAYS, _ARRAYS_ANYWHERE = 48, 192
_GRID_S, _BIN_MINUTES, _LOOK_BACK_S = 900.0, 20, 36 * 3600.0
_LOW, _LEAST_BINS = 0.1, 4
_LEAST_VARIANCE = 0.05**2


def sun_ahead(
    view: View, sun: Floats, site: Site, seconds: Floats, drawn: Draw, chance: np.random.Generator
) -> Floats:
    """(steps, paths) W of one array.

    sun      (m,) W as recorded
    seconds  (steps,) from the view's end
    """
    rated = site.solar.rated_w or 0.0
    peak = float(np.quantile(sun[sun > 0], 0.98)) if sun.any() else rated
    time = view.end + np.round(seconds * 1e9).astype(np.int64)
    recent = view.time >= view.end - round(_POOL_S * 1e9)
    paths = drawn.rows.shape[1]
    usual = _by_days(view, sun, time, recent) or _by_sky(view, sun, site, time, recent, paths, chance)
    shares = sun[recent] / np.maximum(usual.then, _LEAST_SHARE * usual.top)
    bright = usual.then > _BRIGHT * usual.top
    mean, known = _level(sun[recent], usual, _middling(view, site, peak, usual))
    middle, _ = _level(sun[recent][-60:], usual, mean)
    drift = -np.expm1(-seconds / _DRIFT_S)[:, None]
    doubt = _LEVEL_SD * np.sqrt(drift + _UNSEEN * (1 - known))
    # Without earlier days the usual is this day's own mean.
    goal = 1.0 if usual.by_days else mean
    pool = shares[bright] if bright.sum() >= 15 else np.full(1, mean)
    share = _pool(pool, seconds, paths, chance) * (middle + (goal - middle) * drift)
    share *= np.exp(doubt * chance.standard_normal(paths)) / max(float(pool.mean()), 1e-9)
    if bright.any():
        share += (float(np.mean(shares[-_NOW_MINUTES:])) - share[:1]) * drawn.fading(_FADE_S)
    return np.clip(share * usual.ahead, 0.0, max(_ABOVE_PEAK * peak, rated))


def _level(sun: Floats, usual: _Usual, before: float) -> tuple[float, float]:
    """What the sun gives over what is usual, and how well that is known, 0..1: `before` counts for half an hour."""
    then = usual.then[-len(sun) :]
    weight = _BEFORE_MINUTES * usual.top
    seen = float(then.sum())
    return (float(sun.sum()) + weight * before) / (seen + weight), seen / (seen + weight)


def _middling(view: View, site: Site, peak: float, usual: _Usual) -> float:
    """A middling day's share: of earlier days one; else half of the rating, or of what was seen at most."""
    if usual.by_days:
        return 1.0
    return _MIDDLING * (site.solar.rated_w or peak)


def _pool(shares: Floats, seconds: Floats, paths: int, chance: np.random.Generator) -> Floats:
    """(steps, paths) shares of the last hours, in stretches of a quarter of an hour."""
    block_s = 900.0
    each = 1.0 / block_s
    blocks = ((seconds[:, None] + chance.uniform(0, block_s, paths)) * each).astype(np.int64)
    starts = chance.random((int(blocks.max()) + 1, paths)) * len(shares)
    within = (seconds[:, None] % block_s) / 60.0
    rows = (starts[blocks, np.arange(paths)] + within).astype(np.int64)
    return shares.take(rows, mode="wrap")


@dataclass(frozen=True, slots=True)
class _Usual:
    """What the sun usually gives: (steps, 1 or paths) ahead and (r,) in recent minutes, at most `top`."""

    ahead: Floats
    then: Floats
    top: float
    by_days: bool


def _by_days(view: View, sun: Floats, time: NDArray[np.int64], recent: NDArray[np.bool_]) -> _Usual | None:
    """The mean of earlier days at the same time; None where none was recorded."""
    sums = np.concatenate(([0.0], np.cumsum(sun)))
    pairs = [
        (_day_before(view, sums, time, days), _day_before(view, sums, view.time[recent], days))
        for days in range(1, _DAYS + 1)
    ]
    told = [pair for pair in pairs if np.isfinite(pair[0]).all() and np.isfinite(pair[1]).all()]
    if len(told) < _LEAST_DAYS:
        return None
    ahead, then = (np.mean([pair[which] for pair in told], axis=0) for which in (0, 1))
    if not then.any() and sun[recent].any():
        return None
    return _Usual(ahead[:, None], then, float(max(ahead.max(), then.max(), 1.0)), by_days=True)


def _by_sky(
    view: View,
    sun: Floats,
    site: Site,
    time: NDArray[np.int64],
    recent: NDArray[np.bool_],
    paths: int,
    chance: np.random.Generator,
) -> _Usual:
    """A clear day on arrays that may be this one: where the zone's town is, more or less, and the likelier the
    better what was seen keeps in step with them."""
    if site.given("site", "timezone"):
        arrays = Arrays.drawn(place_of(site.zone), _ARRAYS, chance)
    else:
        arrays = Arrays.drawn(anywhere(), _ARRAYS_ANYWHERE, chance)
    weights = _in_step(view, sun, arrays)
    first = int(view.time[recent][0])
    grid = np.arange(first, time[-1] + round(2 * _GRID_S * 1e9), round(_GRID_S * 1e9))
    clear = arrays.clear(grid)
    mean = clear @ weights
    then = np.interp(view.time[recent], grid, mean)
    which = np.minimum(np.searchsorted(np.cumsum(weights), chance.random(paths)), len(weights) - 1)
    ahead = _at(clear, (time - first) / (_GRID_S * 1e9))
    # All of them are believed to be what they are in the mean by now.
    late = slice(max(0, len(then) - 60), None)
    now = _at(clear, (view.time[recent][late] - first) / (_GRID_S * 1e9)).mean(axis=0)
    scale = np.clip((float(then[late].mean()) + _LEAST_SHARE) / (now + _LEAST_SHARE), 0.4, 2.5)
    top = max(float(mean.max()), 0.2)
    return _Usual((ahead * scale)[:, which], then, top, by_days=False)


def _at(clear: Floats, place: Floats) -> Floats:
    """(n, k) between the rows of a table."""
    row = np.minimum(place.astype(np.int64), len(clear) - 2)
    share = (place - row)[:, None]
    between: Floats = clear[row] * (1 - share) + clear[row + 1] * share
    return between


def _in_step(view: View, sun: Floats, arrays: Arrays) -> Floats:
    """(k,) how likely each array is: by the variance of the logarithms of what was seen over a clear day's course,
    every second of them taken as independent."""
    even = np.full(len(arrays.tilt), 1 / len(arrays.tilt))
    part = view.time >= view.end - round(_LOOK_BACK_S * 1e9)
    count = int(part.sum()) // _BIN_MINUTES
    if not count or not sun[part].any():
        return even
    seen = sun[part][-count * _BIN_MINUTES :].reshape(count, -1).mean(axis=1)
    clear = arrays.clear(view.time[part][-count * _BIN_MINUTES :][_BIN_MINUTES // 2 :: _BIN_MINUTES])
    lit = clear.mean(axis=1) > _LOW * clear.mean(axis=1).max()
    lit &= clear.mean(axis=1) > 0.02
    if lit.sum() < _LEAST_BINS or not seen.max() > 0:
        return even
    shares = np.log(np.maximum(seen[lit], 0.01 * seen.max()))[:, None] - np.log(np.maximum(clear[lit], 0.01))
    variance = shares.var(axis=0) + _LEAST_VARIANCE
    logs = -0.25 * (int(lit.sum()) - 1) * np.log(variance)
    likely = np.exp(logs - logs.max())
    weights: Floats = likely / likely.sum()
    return weights


def _day_before(view: View, sums: Floats, time: NDArray[np.int64], days: int) -> Floats:
    """(k,) half-hour means of a day before, W; NaN where it wasn't recorded. `sums` (m + 1,) of the minutes."""
    half = round(_SMOOTH_S / 2 * 1e9)
    first = np.searchsorted(view.time, time - days * _DAY_NS - half)
    last = np.searchsorted(view.time, time - days * _DAY_NS + half)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean: Floats = (sums[last] - sums[first]) / (last - first)
    return np.where(last - first > 2, mean, np.nan)
