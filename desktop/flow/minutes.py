"""The minute book: means of everything over whole minutes of UTC, for what needs days and not seconds."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from desktop.flow.block import Block
from desktop.flow.streams import INDEX, STREAMS

Floats = NDArray[np.float64]

WIDTH_S = 60.0

_AT_ONCE = 2048
_LEAST_MINUTES = 256
_KINDS = ("value", "measured", "sd")


class Minutes:
    """Means per whole minute, kept for every stream and channel that has readings.

    A minute's mean is that of the readings whose stamps lie in it; NaN where there were none. Minutes without
    any row are left out. How the rows were cut into blocks makes no difference.

    width_s  the length of what is called a minute here, s
    """

    def __init__(self, width_s: float = WIDTH_S) -> None:
        self.width_s = width_s
        self._width = round(width_s * 1e9)
        self._minutes = 0
        self._numbers = np.empty(0, np.int64)
        self._series: dict[str, int] = {}
        self._sums = np.empty((0, 0))
        self._counts = np.empty((0, 0), np.int32)
        self._rows = np.empty(0, np.int32)

    def __len__(self) -> int:
        return self._minutes

    @property
    def time(self) -> NDArray[np.int64]:
        """(m,) the start of each minute that has rows, UTC nanoseconds, rising."""
        return self._numbers[: self._minutes] * self._width

    @property
    def rows(self) -> NDArray[np.int32]:
        """(m,) how many rows lie in each minute."""
        return self._rows[: self._minutes].copy()

    def stream(self, name: str) -> Floats:
        """(m,) mean reconciled power of a stream, W."""
        return self._mean(f"value {name}")

    def measured(self, name: str) -> Floats:
        """(m,) mean of what the meters say of a stream, W."""
        return self._mean(f"measured {name}")

    def sd(self, name: str) -> Floats:
        """(m,) mean standard deviation of a single row's reconciled power, W."""
        return self._mean(f"sd {name}")

    def channel(self, name: str) -> Floats:
        """(m,) mean reading of a channel, in the channel's unit."""
        return self._mean(f"channel {name}")

    def until(self, instant: int) -> Minutes:
        """The minutes that were over at an instant (UTC nanoseconds), as a book of their own."""
        part = Minutes(self.width_s)
        part._minutes = int(np.searchsorted(self._numbers[: self._minutes], instant // self._width))
        part._numbers = self._numbers[: part._minutes].copy()
        part._series = dict(self._series)
        part._sums = self._sums[:, : part._minutes].copy()
        part._counts = self._counts[:, : part._minutes].copy()
        part._rows = self._rows[: part._minutes].copy()
        return part

    def copy(self) -> Minutes:
        """The book as it stands, to be read elsewhere while this one goes on."""
        return self.until(np.iinfo(np.int64).max)

    def extend(self, block: Block) -> None:
        """Take the next rows."""
        for start in range(0, len(block), _AT_ONCE):
            self._take(block, slice(start, min(start + _AT_ONCE, len(block))))

    def _take(self, block: Block, part: slice) -> None:
        numbers = block.time[part] // self._width
        firsts = np.concatenate(([0], 1 + np.flatnonzero(np.diff(numbers))))
        series, table = _table(block, part)
        known = np.isfinite(table)
        np.copyto(table, 0.0, where=~known)
        places = self._places(numbers[firsts])
        rows = self._lines(series)
        at = np.ix_(rows, places)
        # Only the first place can have been begun before; each place comes once.
        self._sums[at] += np.add.reduceat(table, firsts, axis=1)
        self._counts[at] += np.add.reduceat(known, firsts, axis=1, dtype=np.int32)
        self._rows[places] += np.diff(np.concatenate((firsts, [len(numbers)]))).astype(np.int32)

    def _places(self, numbers: NDArray[np.int64]) -> NDArray[np.int64]:
        """Where these minutes stand; new ones are begun."""
        begun = self._minutes > 0 and self._numbers[self._minutes - 1] == numbers[0]
        first = self._minutes - int(begun)
        stop = first + len(numbers)
        self._reserve(len(self._series), stop)
        self._numbers[first:stop] = numbers
        self._minutes = stop
        return np.arange(first, stop)

    def _lines(self, series: list[str]) -> NDArray[np.int64]:
        for name in series:
            self._series.setdefault(name, len(self._series))
        self._reserve(len(self._series), self._minutes)
        return np.array([self._series[name] for name in series], np.int64)

    def _reserve(self, series: int, minutes: int) -> None:
        lines, room = self._sums.shape
        if series <= lines and minutes <= room:
            return
        if minutes > room:
            room = max(minutes, room + room // 4, _LEAST_MINUTES)
        shape = max(series, lines), room
        self._sums = _larger(self._sums, shape)
        self._counts = _larger(self._counts, shape)
        self._rows = _larger(self._rows[None], (1, room))[0]
        self._numbers = _larger(self._numbers[None], (1, room))[0]

    def _mean(self, series: str) -> Floats:
        line = self._series.get(series)
        if line is None:
            return np.full(self._minutes, math.nan)
        counts = self._counts[line, : self._minutes]
        mean = np.full(self._minutes, math.nan)
        np.divide(self._sums[line, : self._minutes], counts, out=mean, where=counts > 0)
        return mean


def _table(block: Block, part: slice) -> tuple[list[str], Floats]:
    """Names and rows of everything that has a reading in a part of a block, (k, n)."""
    names: list[str] = []
    rows: list[Floats] = []
    for kind, table in zip(_KINDS, (block.value, block.measured, block.sd), strict=True):
        for stream in STREAMS:
            names.append(f"{kind} {stream}")
            rows.append(table[INDEX[stream], part])
    for name, readings in block.channels.items():
        names.append(f"channel {name}")
        rows.append(readings[part])
    return names, np.stack(rows)


def _larger(array: NDArray[Any], shape: tuple[int, ...]) -> NDArray[Any]:
    larger = np.zeros(shape, array.dtype)
    larger[tuple(slice(0, size) for size in array.shape)] = array
    return larger
