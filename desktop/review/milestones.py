"""The row counts at which a review learns anew: seldom enough for a growing recording, and never too late."""

from __future__ import annotations

import math

import numpy as np

from recordings.recording import Recording

_EVERY_ROW_UP_TO = 64
_GROWTH = 1.125


def milestone(rows: int) -> int:
    """How many of the first rows a review of `rows` rows learns from.

    All of them up to 64, then the largest member ≤ `rows` of the sequence that starts at 64 and grows by an
    eighth, rounded up.
    """
    if rows <= _EVERY_ROW_UP_TO:
        return rows
    member = _EVERY_ROW_UP_TO
    while (following := math.ceil(member * _GROWTH)) <= rows:
        member = following
    return member


class FirstReadings:
    """In which row each channel of a growing recording gave its first reading.

    A channel can be silent for most of a recording: the meter of a generator may live on the generator itself.
    """

    def __init__(self) -> None:
        self._rows: dict[str, int] = {}
        self._searched = 0

    @property
    def channels(self) -> frozenset[str]:
        """The channels that have given a reading."""
        return frozenset(self._rows)

    def latest(self, recording: Recording) -> int:
        """The last row in which a channel gave its first reading; -1 where none has."""
        stop = len(recording)
        for name in recording.channels:
            if name not in self._rows:
                row = _first_finite(recording.column(name), self._searched, stop)
                if row is not None:
                    self._rows[name] = row
        self._searched = stop
        return max(self._rows.values(), default=-1)


def _first_finite(column: np.ndarray, start: int, stop: int, at_once: int = 65_536) -> int | None:
    for begin in range(start, stop, at_once):
        finite = np.isfinite(column[begin : min(begin + at_once, stop)])
        if finite.any():
            return begin + int(finite.argmax())
    return None
