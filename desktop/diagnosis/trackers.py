"""Small pieces of memory that run along with the rows."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Times = NDArray[np.int64]


class Held:
    """A reading that stays until another one is told, for at most `hold_s`."""

    def __init__(self, hold_s: float = math.inf) -> None:
        self._hold = hold_s * 1e9
        self._value = math.nan
        self._at = 0

    def extend(self, time: Times, read: Floats) -> Floats:
        """(n,) readings, the missing ones filled with the latest before them."""
        if not len(read):
            return read
        missing = np.isnan(read)
        if not missing.any():
            self._value, self._at = float(read[-1]), int(time[-1])
            return read
        latest = np.maximum.accumulate(np.where(missing, -1, np.arange(len(read))))
        since = np.where(latest >= 0, time[latest], self._at)
        filled = np.where(latest >= 0, read[latest], self._value)
        if latest[-1] >= 0:
            self._value, self._at = float(read[latest[-1]]), int(time[latest[-1]])
        held: Floats = np.where(time - since > self._hold, np.nan, filled)
        return held


class Since:
    """For how long something has been so without a break."""

    def __init__(self, hold_s: float) -> None:
        self._hold = round(hold_s * 1e9)
        self._last: int | None = None
        self._start: int | None = None

    def extend(self, time: Times, true: Floats) -> Floats:
        """(n,) seconds since it became so, NaN where it isn't so or not known. `true` is 1, 0 or NaN.

        After a gap longer than `hold_s` it begins anew.
        """
        here = ~np.isnan(true)
        if not here.any():
            return np.full(len(time), np.nan)
        whole = bool(here.all())
        stamps, said = (time, true > 0) if whole else (time[here], true[here] > 0)
        before = self._last if self._last is not None else -(1 << 62)
        torn = np.diff(stamps, prepend=before) > self._hold
        if not said.any():
            self._last, self._start = int(stamps[-1]), None
            return np.full(len(time), np.nan)
        lasted = self._lasted(stamps, said, torn)
        if whole:
            return lasted
        spread = np.full(len(time), np.nan)
        spread[here] = lasted
        return spread

    def _lasted(self, stamps: Times, said: NDArray[np.bool_], torn: NDArray[np.bool_]) -> Floats:
        stood = np.concatenate(([self._start is not None], said[:-1]))
        fresh = said & (~stood | torn)
        latest = np.maximum.accumulate(np.where(fresh, np.arange(len(said)), -1))
        carried = self._start if self._start is not None else int(stamps[0])
        start = np.where(latest >= 0, stamps[latest], carried)
        self._last = int(stamps[-1])
        self._start = int(start[-1]) if said[-1] else None
        return np.where(said, (stamps - start) / 1e9, np.nan)


class Previous:
    """The reading before each reading."""

    def __init__(self) -> None:
        self._time = 0
        self._value = math.nan

    def extend(self, time: Times, read: Floats) -> tuple[Times, Floats]:
        """Time and value of the reading before each row; the value is NaN ahead of the very first.

        Give known readings only.
        """
        before = np.concatenate(([self._time], time[:-1])).astype(np.int64)[: len(time)]
        values = np.concatenate(([self._value], read[:-1]))[: len(read)]
        if len(time):
            self._time, self._value = int(time[-1]), float(read[-1])
        return before, values
