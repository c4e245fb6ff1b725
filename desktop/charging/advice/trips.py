"""How often a replay would have tripped a set, and what chance of a trip in a run follows from it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.int64]

_UPPER_Z = 0.8416
"""The chance that is told is one that is not exceeded in four cases of five."""

UNSEEN = 0.5
"""So many events are added for what wasn't seen: by the prior for a rate after Jeffreys 1946, what is to be
expected after `count` events is count + 1/2 in as long a time."""

_TAIL = 2.0
"""What lifts the input twice as far as anything that was recorded is four times as rare as what lifts it a little
further (assumed)."""

_ONE_TRIP_S = 600.0


class Trips:
    """Counts trips, and the beginnings of runs that would have met one.

    run_h  how long a run is, h; NaN where not known
    count  how often it would have tripped, if it was started again into the same load after a while
    times  the same, where what goes on and on counts once
    """

    def __init__(self, run_h: float) -> None:
        self.run_h = run_h
        self.count = self.times = 0
        self._begun = self._met = 0

    def add(self, rows: Numbers, begun: Numbers, step_s: float) -> None:
        """Take a stretch of steps.

        rows   (k,) steps at which it would have tripped, in order
        begun  (n + 1,) how many of the steps before each a run may begin with
        """
        self._begun += int(begun[-1])
        if not rows.size:
            return
        breaks = np.flatnonzero(np.diff(rows) * step_s > _ONE_TRIP_S)
        firsts, lasts = rows[np.append(0, breaks + 1)], rows[np.append(breaks, len(rows) - 1)]
        self.count += int(np.sum(1 + ((lasts - firsts) * step_s // _ONE_TRIP_S).astype(np.int64)))
        self.times += len(firsts)
        if math.isfinite(self.run_h):
            # Each trip is met by runs that began after the trip before it, and not longer ago than they last.
            earliest = np.maximum(rows - round(self.run_h * 3600 / step_s) + 1, np.append(0, rows[:-1] + 1))
            self._met += int(np.sum(begun[rows + 1] - begun[earliest]))

    def chances(self, recorded_h: float, room: float = 1.0) -> tuple[float, float]:
        """That a run meets a trip, 0..1: as is to be expected, and what isn't exceeded in four cases of five.

        1 where it isn't known how long a run is.

        room  how many times as far as ever the house would have to lift the input until it trips, at least 1
        """
        if not math.isfinite(self.run_h):
            return 1.0, 1.0
        met = self._met / max(1, self._begun)
        runs = room**-_TAIL * self.run_h / recorded_h
        at_most = most_likely_at_most(self.times) - self.times
        return 1.0 - (1.0 - met) * math.exp(-UNSEEN * runs), 1.0 - (1.0 - met) * math.exp(-at_most * runs)


def most_likely_at_most(count: float) -> float:
    """How many events there may well be where so many were counted: what has not been seen may still come.

    The 80 % point of the gamma distribution with shape count + UNSEEN, by Wilson & Hilferty 1931.
    """
    shape = count + UNSEEN
    return shape * float((1 - 1 / (9 * shape) + _UPPER_Z / (3 * math.sqrt(shape))) ** 3)
