"""Which recorded minutes stand for the time ahead: stretches put together at random, the first like the present."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.forecast.view import View

Floats = NDArray[np.float64]

RECENT_S = 8 * 3600.0

_DAY_S = 86_400.0
_BLOCK_S = 7200.0
_JITTER_S = 1800.0
_DAYS = 7
_BY_DAY = 0.5
_GOES_ON = 15
_SHORT, _LONG = 2, 20
_NEAR, _NEAR_LONG = 0.1, 0.25
_ANY = 0.02


@dataclass(frozen=True, slots=True)
class Draw:
    """Which recorded minute stands for each step of each path: stretches of two hours, put together at random.

    rows     (steps, paths) minutes of the view
    seconds  (steps,) from now to the middle of each step
    """

    rows: NDArray[np.int64]
    seconds: Floats

    @classmethod
    def like_now(
        cls, view: View, house: Floats, steps: int, step_s: float, paths: int, chance: np.random.Generator
    ) -> Draw:
        """The first stretch begins at minutes in which the house was as it is now (nearest-neighbour bootstrap
        after Lall & Sharma 1996); later ones come from the last hours, some from the same time of earlier days, as
        far as recorded."""
        seconds = (np.arange(steps, dtype=np.float64) + 0.5) * step_s
        # Each path changes from one stretch to the next at a time of its own.
        shift = chance.uniform(0, _BLOCK_S, paths)
        shifted = seconds[:, None] + shift
        block = (shifted * (1 / _BLOCK_S)).astype(np.int64)
        within = shifted - block * _BLOCK_S
        blocks = int(block.max()) + 1
        starts = _starts(view, blocks, paths, chance)
        now = (view.time - view.end) / 1e9
        starts[0] = now[_alike(view, house, paths, chance)] + 60.0 - shift
        wanted = starts[block, np.arange(paths)] + within
        reach = min(-float(now[0]), max(RECENT_S, -float(now[view.first])))
        # A stretch that runs into the future goes on at the beginning of what is recent.
        beyond = wanted >= 0
        wanted[beyond] -= reach * np.ceil((wanted[beyond] + 1e-9) / reach)
        return cls(_rows_at(now, wanted), seconds)

    def fading(self, fade_s: float) -> Floats:
        """(steps, 1) what is left of the present after each step."""
        return np.exp(-self.seconds / fade_s)[:, None]


def _alike(view: View, house: Floats, paths: int, chance: np.random.Generator) -> NDArray[np.int64]:
    """(paths,) minutes of the last hours, the likelier the more the house was then as it is now: at that moment,
    and over the third of an hour before."""
    first = int(np.searchsorted(view.time, view.end - round(RECENT_S * 1e9)))
    last = len(house) - _GOES_ON
    if last - first < _GOES_ON:
        return chance.integers(first, len(house), paths)
    recent = house[first:]
    near, near_long = (
        share * float(np.ptp(np.quantile(recent, (0.05, 0.95)))) for share in (_NEAR, _NEAR_LONG)
    )
    level = 0.03 * abs(float(recent.mean())) + 1.0
    short, long = _trailing(recent, _SHORT), _trailing(recent, _LONG)
    apart = ((short - short[-1]) / (near + level)) ** 2 + ((long - long[-1]) / (near_long + level)) ** 2
    weights = np.exp(-0.5 * apart[: last - first]) + 1e-12
    weights += _ANY * weights.mean()
    total = np.cumsum(weights)
    rows: NDArray[np.int64] = first + np.searchsorted(total, chance.random(paths) * total[-1])
    return rows


def _trailing(values: Floats, count: int) -> Floats:
    """(m,) means of so many values up to each, of fewer at the beginning."""
    sums = np.concatenate((np.zeros(1), np.cumsum(values)))
    ends = np.arange(1, len(values) + 1)
    begins = np.maximum(ends - count, 0)
    mean: Floats = (sums[ends] - sums[begins]) / (ends - begins)
    return mean


def _starts(view: View, blocks: int, paths: int, chance: np.random.Generator) -> Floats:
    """(blocks, paths) seconds from now (negative) at which each stretch begins."""
    oldest = (float(view.time[0]) - view.end) / 1e9
    uniform = chance.random((blocks, paths))
    recent = -uniform * min(-oldest, RECENT_S)
    days = int(min(-oldest // _DAY_S, _DAYS))
    if not days:
        return recent
    ahead = np.arange(blocks)[:, None] * _BLOCK_S + chance.uniform(-1, 1, (blocks, paths)) * _JITTER_S
    back = ahead - _DAY_S * (1 + chance.integers(0, days, (blocks, paths)))
    usable = (back < -_BLOCK_S) & (back > oldest)
    by_day = chance.random((blocks, paths)) < _BY_DAY
    return np.where(by_day & usable, back, recent)


def _rows_at(now: Floats, wanted: Floats) -> NDArray[np.int64]:
    """The minute in which, or the latest before which, each of the wanted seconds lies."""
    oldest = float(wanted.min())
    grid = oldest + np.arange(math.ceil(-oldest / 60.0) + 2) * 60.0
    rows = np.clip(np.searchsorted(now, grid, side="right") - 1, 0, len(now) - 1)
    return rows[((wanted - oldest) * (1 / 60.0)).astype(np.int64)]
