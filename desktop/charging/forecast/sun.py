"""The sun ahead: as it is now, drifting to what it usually is at the time of day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from desktop.site import Site

if TYPE_CHECKING:
    from desktop.charging.forecast.ahead import Draw
    from desktop.charging.forecast.view import View

Floats = NDArray[np.float64]

_DAY_NS = 86_400_000_000_000
_HOUR_NS = 3_600_000_000_000
_NOW_MINUTES = 5
_SMOOTH_S = 1800.0
_FADE_S = 900.0
_DRIFT_S = 3 * 3600.0
_LEVEL_SD = 0.35
_POOL_S = 3 * 3600.0
_DARK_SHARE = 0.02
_HALF_DAY_H = 6.0
_NOON_H, _NOON_SD_H = 12.33, 0.5
_LEAST_SHARE = 0.05
_ABOVE_PEAK = 1.15
_DAYS = 7
_BRIGHT = 0.1
_BEFORE_MINUTES = 30.0
_MIDDLING = 0.5
_UNSEEN = 1.0
_STEEP = 1.3


def sun_ahead(
    view: View, sun: Floats, site: Site, seconds: Floats, drawn: Draw, chance: np.random.Generator
) -> Floats:
    """(steps, paths) W of one array.

    sun      (m,) W as recorded
    seconds  (steps,) from the view's end
    """
    if not sun.any():
        return np.zeros((1, 1))
    peak = float(np.quantile(sun[sun > 0], 0.98))
    time = view.end + np.round(seconds * 1e9).astype(np.int64)
    recent = view.time >= view.end - round(_POOL_S * 1e9)
    paths = drawn.rows.shape[1]
    usual = _by_days(view, sun, time, recent) or _by_arch(view, sun, site.zone, time, recent, paths, chance)
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
    return np.clip(share * usual.ahead, 0.0, max(_ABOVE_PEAK * peak, site.solar.rated_w or 0.0))


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
    step = (seconds[None].T + chance.uniform(0, block_s, paths)) // block_s
    blocks = step.astype(np.int64)
    starts = chance.random((int(blocks.max()) + 1, paths)) * len(shares)
    within = (seconds[:, None] % block_s) / 60.0
    rows = (starts[blocks, np.arange(paths)] + within).astype(np.int64) % len(shares)
    return shares[rows]


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
    if not told:
        return None
    ahead, then = (np.mean([pair[which] for pair in told], axis=0) for which in (0, 1))
    if not then.any() and sun[recent].any():
        return None
    return _Usual(ahead[:, None], then, float(max(ahead.max(), then.max(), 1.0)), by_days=True)


def _by_arch(
    view: View,
    sun: Floats,
    zone: tzinfo,
    time: NDArray[np.int64],
    recent: NDArray[np.bool_],
    paths: int,
    chance: np.random.Generator,
) -> _Usual:
    """A half sine, as high as it must be: when its noon is, is known to half an hour."""
    rise, noon = _daylight(view, sun, zone)
    then = _arch(view.time[recent], rise, noon)
    shifted = noon + np.round(_NOON_SD_H * _HOUR_NS * chance.standard_normal(paths)).astype(np.int64)
    now = max(float(then[-1]), _LEAST_SHARE)
    at_now = np.maximum(_arch(np.array([view.end]), rise, shifted), _LEAST_SHARE)
    ahead = _arch(time[:, None], rise, shifted) * np.clip(now / at_now, 0.5, 2.0)
    return _Usual(ahead, then, 1.0, by_days=False)


def _day_before(view: View, sums: Floats, time: NDArray[np.int64], days: int) -> Floats:
    """(k,) half-hour means of a day before, W; NaN where it wasn't recorded. `sums` (m + 1,) of the minutes."""
    half = round(_SMOOTH_S / 2 * 1e9)
    first = np.searchsorted(view.time, time - days * _DAY_NS - half)
    last = np.searchsorted(view.time, time - days * _DAY_NS + half)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean: Floats = (sums[last] - sums[first]) / (last - first)
    return np.where(last - first > 2, mean, np.nan)


def _daylight(view: View, sun: Floats, zone: tzinfo) -> tuple[int, int]:
    """Sunrise and noon, UTC nanoseconds: noon at 12:20 of the zone's winter time (zones reach further west than
    east of their meridian as a rule), sunrise as seen on this day, else as at the equinox."""
    here = datetime.fromtimestamp(view.end / 1e9, UTC).astimezone(zone)
    offset = here.utcoffset()
    summer = here.dst()
    seconds = 0.0 if offset is None else offset.total_seconds()
    seconds -= 0.0 if summer is None else summer.total_seconds()
    shift = round(seconds * 1e9)
    noon = (view.end + shift) // _DAY_NS * _DAY_NS + round(_NOON_H * _HOUR_NS) - shift
    rise = noon - round(_HALF_DAY_H * _HOUR_NS)
    today = (view.time >= noon - 12 * _HOUR_NS) & (view.time < noon)
    lit = sun[today] > _DARK_SHARE * float(sun.max())
    first = int(np.argmax(lit)) if lit.any() else 0
    if lit.any() and first > 0:
        rise = int(view.time[today][first])
    elif lit.any():
        rise = min(rise, int(view.time[today][0]) - _HOUR_NS // 2)
    return rise, noon


def _arch(time: NDArray[np.int64], rise: int, noon: int | NDArray[np.int64]) -> Floats:
    """A half sine from sunrise to sunset, its height 1; steeper, for the low sun comes through more air."""
    phase = (time - noon) / (2 * (noon - rise))
    return np.where(np.abs(phase) < 0.5, np.cos(np.pi * np.clip(phase, -0.5, 0.5)), 0.0) ** _STEEP
