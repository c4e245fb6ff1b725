"""Lowest and highest values of any run of rows, without looking at every row: a pyramid of minima and maxima.

Level 0 is the series itself; each level above holds the lowest and the highest of FACTOR neighbours below.
Nothing is approximate: what a pyramid says of a run of rows is what the rows themselves would say.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recordings.room import IN_MEMORY, Room

Values = NDArray[np.float32]
Rows = NDArray[np.int64]

FACTOR = 16
"""Neighbours per bin. Both ends of 16 rows cost 2/16 of the data, all levels together 2/15."""

_HALVINGS = 4
_WHOLE_BINS = 8
"""Least number of whole bins to read per run: fewer would leave too much to its ends."""

_BLOCK = 1 << 16
_GROWTH = 1.08


class Levels:
    """The pyramid over one growing series of float32. It keeps no rows: they are handed in with each call.

    NaN is no value: it hides nothing, and a bin without any value is NaN.

    room  where the levels lie
    """

    def __init__(self, room: Room = IN_MEMORY) -> None:
        self._room = room
        self._rows = 0
        self._low: list[_Store] = []
        self._high: list[_Store] = []

    def __len__(self) -> int:
        return self._rows

    @property
    def nbytes(self) -> int:
        """Memory in use, bytes."""
        return sum(store.nbytes for store in (*self._low, *self._high))

    def extend(self, values: Values) -> None:
        """Take in the rows that were added to the series; `values` (n,) is the whole series, grown at its end.

        Costs what the new rows cost. A series that became shorter is taken in anew.
        """
        if len(values) < self._rows:
            self._low, self._high = [], []
        self._rows = len(values)
        low = high = values
        level = 0
        while len(low) >= FACTOR:
            if level == len(self._low):
                self._low.append(_Store(self._room))
                self._high.append(_Store(self._room))
            self._low[level].take_in(low, np.fmin)
            self._high[level].take_in(high, np.fmax)
            low, high = self._low[level].values, self._high[level].values
            level += 1

    def extremes(self, values: Values, edges: Rows) -> tuple[Values, Values]:
        """Lowest and highest value of each run of rows between two neighbouring edges; NaN where it has none.

        values  the series as it was when last taken in
        edges   (n + 1,) row numbers that don't fall
        """
        rows = max(1, int(edges[-1] - edges[0])) // max(1, len(edges) - 1)
        level = 0
        while level < len(self._low) and FACTOR ** (level + 1) * _WHOLE_BINS <= rows:
            level += 1
        low = np.full(len(edges) - 1, np.nan, np.float32)
        high = low.copy()
        parts = _Parts(np.arange(len(low)), edges[:-1].astype(np.int64), edges[1:].astype(np.int64))
        parts = self._read(values, level, parts, low, high)
        while len(parts.run):
            telling = self._telling(level, parts, low, high)
            level -= 1
            parts = self._read(values, level, parts.where(telling), low, high)
        return low, high

    def _telling(self, level: int, parts: _Parts, low: Values, high: Values) -> NDArray[np.bool_]:
        """Which parts may hold more than was found so far: those in bins that do, and those in no bin yet."""
        least, most = self._low[level - 1].values, self._high[level - 1].values
        bins = parts.start // FACTOR**level
        known = bins < len(least)
        bins = np.where(known, bins, 0)
        below, above = least.take(bins), most.take(bins)
        # Written so that a run without any value yet (NaN) asks for all that there is.
        beyond = ~(below >= low[parts.run]) | ~(above <= high[parts.run])
        telling: NDArray[np.bool_] = ~known | (beyond & ~np.isnan(below))
        return telling

    def range(self, values: Values) -> tuple[float, float]:
        """Lowest and highest value of the whole series; NaN where it has none."""
        low, high = self.extremes(values, np.array([0, self._rows]))
        return float(low[0]), float(high[0])

    def _read(self, values: Values, level: int, parts: _Parts, low: Values, high: Values) -> _Parts:
        """Take the bins of a level that lie within the parts into account; what is left over at their ends."""
        size = FACTOR**level
        first, last = -(-parts.start // size), parts.stop // size
        whole = np.flatnonzero(last > first)
        if len(whole):
            least = values if level == 0 else self._low[level - 1].values
            most = values if level == 0 else self._high[level - 1].values
            spots, run = (first[whole], last[whole]), parts.run[whole]
            np.fmin.at(low, run, _reduced(least, *spots, np.fmin))
            np.fmax.at(high, run, _reduced(most, *spots, np.fmax))
        return parts.rest(first * size, last * size)


@dataclass(frozen=True, slots=True)
class _Parts:
    """Rows [start, stop) that belong to a run and have not been looked at yet."""

    run: Rows
    start: Rows
    stop: Rows

    def where(self, chosen: NDArray[np.bool_]) -> _Parts:
        return _Parts(self.run[chosen], self.start[chosen], self.stop[chosen])

    def rest(self, first: Rows, last: Rows) -> _Parts:
        """What lies before `first` and after `last`; where these have crossed, one bin holds it all."""
        within = last < first
        head = np.where(within, self.stop, first)
        tail = np.where(within, self.stop, last)
        run = np.concatenate([self.run, self.run])
        start = np.concatenate([self.start, tail])
        stop = np.concatenate([head, self.stop])
        return _Parts(run, start, stop).where(stop > start)


def _reduced(bins: Values, first: Rows, last: Rows, pick: np.ufunc) -> Values:
    """`pick` over bins[first:last] for each pair, none of them empty."""
    sizes = last - first
    if np.all(first[1:] >= last[:-1]) and first[-1] - first[0] <= 2 * int(sizes.sum()):
        # In order and with little between them: no need to gather, what lies between is reduced as well.
        spots = np.column_stack([first, last]).ravel()
        best: Values = pick.reduceat(bins[: last[-1]], spots[:-1])[::2]
        return best
    cuts = np.cumsum(sizes) - sizes
    gathered = bins.take(np.arange(int(sizes.sum())) + np.repeat(first - cuts, sizes))
    best = pick.reduceat(gathered, cuts)
    return best


class _Store:
    """The bins of one level, growing in place with little room to spare."""

    def __init__(self, room: Room) -> None:
        self._room = room
        self._bins = np.empty(0, np.float32)
        self._count = 0

    @property
    def values(self) -> Values:
        return self._bins[: self._count]

    @property
    def nbytes(self) -> int:
        return self._bins.nbytes

    def take_in(self, below: Values, pick: np.ufunc) -> None:
        """Add the bins that the level below has completed since."""
        count = len(below) // FACTOR
        if count > len(self._bins):
            grown = count if not self._count else max(count, int(self._count * _GROWTH) + 8)
            self._bins = self._room.longer(self._bins, self._count, grown)
        for start in range(self._count, count, _BLOCK // FACTOR):
            stop = min(count, start + _BLOCK // FACTOR)
            self._bins[start:stop] = _folded(below[start * FACTOR : stop * FACTOR], pick)
        self._count = count


def _folded(rows: Values, pick: np.ufunc) -> Values:
    # Neighbours pair by pair: four passes over a block in cache take a seventh of one reduction by 16.
    for _ in range(_HALVINGS):
        rows = pick(rows[0::2], rows[1::2])
    return rows
