"""House load and sun ahead: drawn from recorded minutes, beginning with what they are now."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.forecast.sun import sun_ahead
from desktop.charging.forecast.view import View
from desktop.site import Site

Floats = NDArray[np.float64]

_DAY_S = 86_400.0
_BLOCK_S = 7200.0
_RECENT_S = 8 * 3600.0
_JITTER_S = 1800.0
_DAYS = 7
_BY_DAY = 0.5
_FADE_S = 480.0
_NOW = 3
_STRANGERS = 2
_STRANGE_EACH_H, _STRANGE_H = 0.35, 2.0
_STRANGE_S, _STRANGE_SHARE = 1200.0, 0.2
"""In a house that was never watched something unseen is switched on every third hour, a kettle or a pump: a fifth
of what a set gives, for twenty minutes (common practice, no source)."""
_LASTING = 30
_LASTING_S = (1800.0, 6 * 3600.0)


@dataclass(frozen=True, slots=True)
class Ahead:
    """(steps, paths) W: what of the AC side doesn't go into the converter, both suns, DC loads; a step takes
    `step_s`."""

    step_s: float
    else_ac: Floats
    sun: Floats
    sun_ac: Floats
    dc_load: Floats


def powers_ahead(
    view: View, site: Site, steps: int, step_s: float, paths: int, chance: np.random.Generator
) -> Ahead:
    """Draw what lies ahead of the end of a view."""
    drawn = Draw.of(view, steps, step_s, paths, chance)
    house = _house(view, drawn, chance)
    if not view.sun.any() and not view.sun_ac.any():
        nothing = np.zeros((1, 1))
        return Ahead(step_s, house, nothing, nothing, _dc(view))
    sun = sun_ahead(view, view.sun, site, drawn.seconds, drawn, chance)
    sun_ac = sun_ahead(view, view.sun_ac, site, drawn.seconds, drawn, chance)
    return Ahead(step_s, house, sun, sun_ac, _dc(view))


def _dc(view: View) -> Floats:
    """DC loads hardly change: as they were of late."""
    recent = view.dc_load[-60:]
    return np.full((1, 1), float(recent.mean()))


@dataclass(frozen=True, slots=True)
class Draw:
    """Which recorded minute stands for each step of each path: stretches of two hours, put together at random.

    rows     (steps, paths) minutes of the view
    seconds  (steps,) from now to the middle of each step
    """

    rows: NDArray[np.int64]
    seconds: Floats

    @classmethod
    def of(cls, view: View, steps: int, step_s: float, paths: int, chance: np.random.Generator) -> Draw:
        """Some stretches come from the last hours, some from the same time of earlier days, as far as recorded."""
        seconds = (np.arange(steps, dtype=np.float64) + 0.5) * step_s
        # Each path changes from one stretch to the next at a time of its own.
        shifted = seconds[:, None] + chance.uniform(0, _BLOCK_S, paths)
        block = (shifted // _BLOCK_S).astype(np.int64)
        within = shifted - block * _BLOCK_S
        blocks = int(block.max()) + 1
        starts = cls._starts(view, blocks, paths, chance)
        columns = np.arange(paths)
        wanted = starts[block, columns] + within
        now = (view.time - view.end) / 1e9
        reach = min(-float(now[0]), max(_RECENT_S, -float(now[view.first])))
        # A stretch that runs into the future goes on at the beginning of what is recent.
        wanted = np.where(wanted >= 0, wanted - reach * np.ceil((wanted + 1e-9) / reach), wanted)
        return cls(_rows_at(now, wanted), seconds)

    @staticmethod
    def _starts(view: View, blocks: int, paths: int, chance: np.random.Generator) -> Floats:
        """(blocks, paths) seconds from now (negative) at which each stretch begins."""
        oldest = (float(view.time[0]) - view.end) / 1e9
        uniform = chance.random((blocks, paths))
        recent = -uniform * min(-oldest, _RECENT_S)
        days = int(min(-oldest // _DAY_S, _DAYS))
        if not days:
            return recent
        ahead = np.arange(blocks)[:, None] * _BLOCK_S + chance.uniform(-1, 1, (blocks, paths)) * _JITTER_S
        back = ahead - _DAY_S * (1 + chance.integers(0, days, (blocks, paths)))
        usable = (back < -_BLOCK_S) & (back > oldest)
        by_day = chance.random((blocks, paths)) < _BY_DAY
        return np.where(by_day & usable, back, recent)

    def fading(self, fade_s: float) -> Floats:
        """(steps, 1) what is left of the present after each step."""
        return np.exp(-self.seconds / fade_s)[:, None]


def _rows_at(now: Floats, wanted: Floats) -> NDArray[np.int64]:
    """The minute in which, or the latest before which, each of the wanted seconds lies."""
    oldest = float(wanted.min())
    grid = oldest + np.arange(math.ceil(-oldest / 60.0) + 2) * 60.0
    rows = np.clip(np.searchsorted(now, grid, side="right") - 1, 0, len(now) - 1)
    return rows[((wanted - oldest) * (1 / 60.0)).astype(np.int64)]


def _house(view: View, drawn: Draw, chance: np.random.Generator) -> Floats:
    """What is drawn, moved to the present: what changed within minutes is soon forgotten, what has held for half
    an hour holds on for between half an hour and several."""
    house = _comparable(view)
    ahead = house[drawn.rows]
    paths = ahead.shape[1]
    recent = house[view.time >= view.end - round(_RECENT_S * 1e9)]
    usual, now = float(np.median(recent)), float(np.mean(house[-_NOW:]))
    lasting = float(np.median(house[-_LASTING:])) - usual
    # What has just ended doesn't last.
    lasting = min(max(lasting, min(now - usual, 0.0)), max(now - usual, 0.0))
    shortest, longest = _LASTING_S
    for_s = shortest * (longest / shortest) ** chance.random(paths)
    ahead += lasting * np.exp(-drawn.seconds[:, None] / for_s)
    ahead += (now - ahead[:1]) * drawn.fading(_FADE_S)
    ahead *= _unfamiliar(view, paths, chance)
    ahead += _strangers(view, drawn.seconds, paths, chance)
    return np.maximum(ahead, 0.0)


def _strangers(view: View, seconds: Floats, paths: int, chance: np.random.Generator) -> Floats:
    """(steps, paths) W of appliances that were not yet seen: the shorter the house was watched, the likelier."""
    watched_h = (view.end - float(view.time[0])) / 3600e9
    each_s = 3600.0 * (1.0 + watched_h / _STRANGE_H) / _STRANGE_EACH_H
    begin = np.cumsum(chance.exponential(each_s, (_STRANGERS, paths)), axis=0)
    end = begin + chance.exponential(_STRANGE_S, (_STRANGERS, paths))
    source_w = float(np.quantile(view.source[view.session], 0.9))
    watts = _STRANGE_SHARE * source_w * np.exp(0.5 * chance.standard_normal((_STRANGERS, paths)))
    at = seconds[:, None]
    total = np.zeros((len(seconds), paths))
    for first, last, power in zip(begin, end, watts, strict=True):
        total += np.where((at >= first) & (at < last), power, 0.0)
    return total


def _comparable(view: View) -> Floats:
    """(m,) the house as the charge's own meters show it: before the charge it was another meter's word."""
    part = view.session
    both = np.isfinite(view.else_ac[part]) & np.isfinite(view.load[part])
    offset = float(np.median((view.else_ac[part] - view.load[part])[both])) if both.any() else 0.0
    house = np.where(np.arange(len(view.time)) >= view.first, view.else_ac, view.load + offset)
    known = np.isfinite(house)
    usual = float(np.median(house[known])) if known.any() else 0.0
    return np.where(known, house, usual)


def _unfamiliar(view: View, paths: int, chance: np.random.Generator) -> Floats:
    """(paths,) factors: a house that was watched for an hour is known to a fifth, after a day by heart."""
    hours = (view.end - float(view.time[0])) / 3600e9
    spread = 0.2 / np.sqrt(1.0 + hours)
    factors: Floats = np.exp(spread * chance.standard_normal(paths))
    return factors
