"""Rows of readings, taken in their order: which charge they belong to, and how it stands."""

from __future__ import annotations

import copy
import math
from collections.abc import Iterable, Iterator

import numpy as np

from desktop.procedure.charge import Charge
from desktop.procedure.signs import AS_IT_WAS, SIGNS, Signs

REST_S = 900.0
"""So long without load, a set whose line isn't seen dead counts as stopped."""

_SECOND = 1_000_000_000
_EVER = -(2**63)
_ANEW, _GAP = "anew", "gap"


class Progress:
    """How far rows have led. It depends on the rows alone, not on how they were cut.

    A charge begins with the first row, when the set starts again after it had carried load and had stopped, or
    where a person said so. What was seen since the set stopped belongs to the next charge too. Where no line is
    seen dead between, the set may have run on without load: it is another charge after REST_S.

    gap_s   after a longer step between rows nothing is taken to have lasted
    levels  sign → how it stands: 1 or 0
    known   sign or value → when it was last read, UTC nanoseconds
    values  value → its latest reading
    """

    def __init__(self, gap_s: float) -> None:
        self._gap = gap_s * _SECOND
        self.time: int | None = None
        self.levels: dict[str, float] = {}
        self.known: dict[str, int] = {}
        self.values: dict[str, float] = {}
        self.charge = Charge(_EVER, _EVER)

    def copy(self) -> Progress:
        """An independent copy."""
        return copy.deepcopy(self)

    def extend(self, signs: Signs, anew: Iterable[int] = ()) -> None:
        """Take the next rows. `anew`: instants at which a person began anew, those before too."""
        if not len(signs.time):
            return
        for row, what, level in self._events(signs, anew):
            time = int(signs.time[row])
            if what == _ANEW:
                self._roll(int(level), int(level))
            elif what == _GAP:
                last = int(signs.time[row - 1]) if row else self.time
                self.charge.bridge(time if last is None else last, time, self.levels)
            else:
                self._tell(what, level, time)
        self._keep_latest(signs)
        self.time = int(signs.time[-1])
        self.charge.settle(self.time)

    def read_lately(self, name: str, hold_s: float) -> bool:
        """True where a sign or value was read at most `hold_s` before the latest row."""
        at = self.known.get(name)
        return at is not None and self.time is not None and self.time - at <= hold_s * _SECOND

    def _events(self, signs: Signs, anew: Iterable[int]) -> Iterator[tuple[int, str, float]]:
        """(row, what, level) of everything that changes, in order."""
        before = signs.time[0] if self.time is None else self.time
        steps = np.diff(signs.time, prepend=before)
        found = [(row, 0, _GAP, 0.0) for row in np.flatnonzero(steps > self._gap).tolist()]
        for order, sign in enumerate(SIGNS, start=2):
            column = signs.signs[sign]
            rows = np.flatnonzero(np.isfinite(column) & (column != AS_IT_WAS))
            levels = column[rows]
            changed = np.flatnonzero(np.diff(levels, prepend=self.levels.get(sign, math.nan)) != 0)
            found += [
                (row, order, sign, level)
                for row, level in zip(rows[changed].tolist(), levels[changed].tolist(), strict=True)
            ]
        for instant in anew:
            row = int(np.searchsorted(signs.time, instant))
            if row < len(signs.time) and (self.time is None or instant > self.time):
                found.append((row, 1, _ANEW, instant))
        for row, _, what, level in sorted(found, key=lambda one: one[:2]):
            yield row, what, level

    def _tell(self, sign: str, level: float, time: int) -> None:
        # Where the line is live again after it was dead, the set is being started.
        starts = sign == "running" or (sign == "live" and self.levels.get("live") == 0)
        if starts and level > 0 and self.charge.stopped is not None:
            self._start_again(time, self.charge.stopped)
        self.levels[sign] = level
        self.charge.tell(sign, level, time, self.levels)

    def _start_again(self, time: int, stopped: int) -> None:
        if self.charge.loaded is None:
            self.charge.start_again()
        elif self.levels.get("live") == 0 or time - stopped >= REST_S * _SECOND:
            self._roll(time, stopped)
        else:
            self.charge.resume()

    def _roll(self, shown_from: int, begun: int) -> None:
        """The next charge: what stands is told to it as of its begin, or of when it came to stand so."""
        since = self.charge.since
        self.charge = Charge(shown_from, begun)
        stood: dict[str, float] = {}
        told = [(max(since.get(sign, begun), begun), sign) for sign in SIGNS if sign in self.levels]
        for at, sign in sorted(told, key=lambda one: one[0]):
            stood[sign] = self.levels[sign]
            self.charge.tell(sign, self.levels[sign], at, stood)

    def _keep_latest(self, signs: Signs) -> None:
        for name, column in (*signs.signs.items(), *signs.values.items()):
            rows = np.flatnonzero(np.isfinite(column))
            if rows.size:
                self.known[name] = int(signs.time[rows[-1]])
                if name in signs.values:
                    self.values[name] = float(column[rows[-1]])
