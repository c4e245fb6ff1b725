"""How a charger gave way after a load step: when it began, how fast it went, and how far."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.causes.steps import median

Floats = NDArray[np.float64]
Times = NDArray[np.int64]

LOOK_S = 60.0
"""For how long after a step it is watched."""

_LEAST_W = 80.0
_BEGUN_SHARE, _DONE_SHARE = 0.12, 0.9
_ENOUGH_SHARE = 0.25


@dataclass(frozen=True, slots=True)
class BackOff:
    """What the charger did after a load step.

    charger_w  what it took before
    began_s    how long after the step it began to take less, s; NaN where it never did
    settled_s  how long after the step it had given nearly all that it gave, s; NaN likewise
    given_w    how much less it took in the end
    rate_w_s   how fast it went, W/s; NaN where it went between two rows
    peak_w     the most that the generator gave meanwhile
    watched_s  for how long it could be watched: until the next step, a stop, or LOOK_S
    """

    charger_w: float
    began_s: float
    settled_s: float
    given_w: float
    rate_w_s: float
    peak_w: float
    watched_s: float

    @property
    def began(self) -> bool:
        """Whether it gave way at all."""
        return not math.isnan(self.began_s)


def measure_back_off(
    time: Times, charger: Floats, generator: Floats, step_row: int, size_w: float, until: int
) -> BackOff | None:
    """Watch the charger from a load step on; None where its power isn't known or it wasn't charging.

    time, charger, generator  (n,) of the rows around
    step_row  the first row at which more was taken; size_w: how much more
    until     the row before which to stop looking
    """
    before = charger[max(0, step_row - 8) : step_row]
    before = before[np.isfinite(before)]
    late = int(np.searchsorted(time, time[step_row] + round(LOOK_S * 1e9), side="right"))
    after = slice(step_row, max(min(until, late), step_row + 1))
    taken, when = charger[after], (time[after] - time[step_row]) / 1e9
    known = np.isfinite(taken)
    if not before.size or not known.any():
        return None
    taken, when, usual = taken[known], when[known], median(before)
    if usual < _LEAST_W:
        return None
    peak = float(np.fmax.reduce(generator[after][known], initial=np.nan))
    watched = float(when[-1])
    lowest = float(taken.min())
    given = usual - lowest
    least = max(_LEAST_W, _BEGUN_SHARE * size_w)
    less = taken < usual - least
    if given < max(least, _ENOUGH_SHARE * min(size_w, usual)) or not less.any():
        return BackOff(usual, math.nan, math.nan, max(0.0, given), math.nan, peak, watched)
    begun = int(np.argmax(less))
    done = int(np.argmax(taken <= usual - _DONE_SHARE * given))
    gave = max(begun - 1, 0)
    took_s = float(when[done] - when[gave])
    rate = (float(taken[gave]) - float(taken[done])) / took_s if done > gave and took_s > 0 else math.nan
    return BackOff(usual, float(when[begun]), float(when[done]), given, rate, peak, watched)
