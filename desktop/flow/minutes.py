"""The minute book: means of everything over whole minutes of UTC, for what needs days and not seconds."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from desktop.flow.block import Block
from desktop.flow.streams import INDEX

Floats = NDArray[np.float64]

WIDTH_S = 60.0

_LEAST_MINUTES = 256


class Minutes:
    """Means per whole minute, kept for every stream and channel that has readings.

    A minute's mean is that of the readings whose stamps lie in it, to single precision; NaN where there were
    none. Minutes without any row are left out. How the rows were cut into blocks makes no difference.

    width_s  the length of what is called a minute here, s
    """

    def __init__(self, width_s: float = WIDTH_S) -> None:
        self.width_s = width_s
        self._width = round(width_s * 1e9)
        self._over = 0
        self._numbers = np.empty(0, np.int64)
        self._rows = np.empty(0, np.int32)
        self._series: dict[str, int] = {}
        self._means = np.empty((0, 0), np.float32)
        self._open: _Open | None = None

    def __len__(self) -> int:
        return self._over + (self._open is not None)

    @property
    def time(self) -> NDArray[np.int64]:
        """(m,) the start of each minute that has rows, UTC nanoseconds, rising."""
        numbers = self._numbers[: self._over]
        if self._open is not None:
            numbers = np.append(numbers, self._open.number)
        return numbers * self._width

    @property
    def rows(self) -> NDArray[np.int32]:
        """(m,) how many rows lie in each minute."""
        rows = self._rows[: self._over]
        return rows.copy() if self._open is None else np.append(rows, np.int32(self._open.rows))

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
        number = instant // self._width
        part._over = int(np.searchsorted(self._numbers[: self._over], number))
        part._numbers = self._numbers[: part._over].copy()
        part._rows = self._rows[: part._over].copy()
        part._series = dict(self._series)
        part._means = self._means[:, : part._over].copy()
        if self._open is not None and self._open.number < number:
            part._open = self._open.copy()
        return part

    def copy(self) -> Minutes:
        """The book as it stands, to be read elsewhere while this one goes on."""
        return self.until(np.iinfo(np.int64).max)

    def extend(self, block: Block) -> None:
        """Take the next rows."""
        if not len(block):
            return
        numbers = block.time // self._width
        firsts = np.concatenate(([0], 1 + np.flatnonzero(np.diff(numbers))))
        rows = np.diff(np.append(firsts, len(numbers)))
        told = dict(_series(block))
        for name in told:
            self._series.setdefault(name, len(self._series))
        sums, counts = np.zeros((2, len(self._series), len(firsts)))
        for name, readings in told.items():
            line = self._series[name]
            sums[line], counts[line] = _added(readings, firsts, rows)
        before = self._open
        if before is not None and before.number == numbers[0]:
            sums[: len(before.sums), 0] += before.sums
            counts[: len(before.counts), 0] += before.counts
            rows[0] += before.rows
        elif before is not None:
            number = np.array([before.number])
            self._finish(number, before.sums[:, None], before.counts[:, None], [before.rows])
        self._finish(numbers[firsts[:-1]], sums[:, :-1], counts[:, :-1], rows[:-1])
        self._open = _Open(int(numbers[-1]), int(rows[-1]), sums[:, -1].copy(), counts[:, -1].copy())

    def _finish(self, numbers: NDArray[np.int64], sums: Floats, counts: Floats, rows: Any) -> None:
        start, stop = self._over, self._over + len(numbers)
        self._reserve(len(self._series), stop)
        self._numbers[start:stop] = numbers
        self._rows[start:stop] = rows
        self._means[:, start:stop] = np.nan
        self._means[: len(sums), start:stop] = _divided(sums, counts)
        self._over = stop

    def _reserve(self, series: int, minutes: int) -> None:
        lines, room = self._means.shape
        if minutes > room:
            room = max(minutes, room + room // 4, _LEAST_MINUTES)
            self._numbers = _larger(self._numbers[None], (1, room))[0]
            self._rows = _larger(self._rows[None], (1, room))[0]
        if (lines, room) != self._means.shape or series > lines:
            self._means = _larger(self._means, (max(series, lines), room))

    def _mean(self, series: str) -> Floats:
        line = self._series.get(series)
        if line is None:
            return np.full(len(self), math.nan)
        mean = np.full(len(self), math.nan)
        if line < len(self._means):
            mean[: self._over] = self._means[line, : self._over]
        if self._open is not None and line < len(self._open.sums):
            mean[-1] = _divided(self._open.sums[line], self._open.counts[line])
        return mean


@dataclass(slots=True)
class _Open:
    """The minute that isn't over: sums of readings, and how many there were, by series."""

    number: int
    rows: int
    sums: Floats
    counts: Floats

    def copy(self) -> _Open:
        return _Open(self.number, self.rows, self.sums.copy(), self.counts.copy())


def _divided(sums: Any, counts: Any) -> Any:
    """float32, so that a minute reads the same while it is open and ever after."""
    means = np.full(np.shape(sums), np.nan)
    np.divide(sums, counts, out=means, where=np.asarray(counts) > 0)
    return means.astype(np.float32)


def _series(block: Block) -> Iterator[tuple[str, Floats]]:
    """Name and (n,) readings of everything that a block tells."""
    for kind, table in (("value", block.value), ("measured", block.measured), ("sd", block.sd)):
        for stream, row in INDEX.items():
            yield f"{kind} {stream}", table[row]
    for name, readings in block.channels.items():
        yield f"channel {name}", readings


def _added(readings: Floats, firsts: NDArray[np.intp], rows: NDArray[np.intp]) -> tuple[Floats, Any]:
    """Sum of the finite readings of each minute, and how many there are."""
    sums = np.add.reduceat(readings, firsts)
    if np.isfinite(sums).all():
        return sums, rows
    known = np.isfinite(readings)
    return np.add.reduceat(np.where(known, readings, 0.0), firsts), np.add.reduceat(
        known, firsts, dtype=np.intp
    )


def _larger(array: NDArray[Any], shape: tuple[int, ...]) -> NDArray[Any]:
    larger = np.full(shape, np.nan if array.dtype.kind == "f" else 0, array.dtype)
    larger[tuple(slice(0, size) for size in array.shape)] = array
    return larger
