"""Rows gathered into cells of a minute: what the judgement looks at instead of rows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.store import Columns, Stored, Times, means
from desktop.flow.deviations import BEFORE

Floats = NDArray[np.float64]

WIDTH_S = 60
MOST_CELLS = 6144
"""More cells than this, and they are made twice as wide."""

SLOW_S = 30.0
"""From this interval on rows are taken as they are: each is far from the next, and skew is short beside that."""

_MOVED = 3.0 * 2**0.5
_NARROWEST = WIDTH_S * 10**9
_AT_MOST = 1.25


@dataclass(frozen=True, slots=True)
class Layout:
    """Which rows of a table mean what.

    meters, extras  how many there are of each. Extras are averaged as meters are, but nothing is judged by
                    whether they move
    """

    meters: int
    extras: int

    @property
    def averaged(self) -> int:
        """The first so many rows of a cell are means."""
        return self.meters + self.extras

    @property
    def rows(self) -> int:
        """Means; least and greatest reading of each meter; rows counted and rows in all."""
        return self.averaged + 2 * self.meters + 2

    @property
    def low(self) -> slice:
        """Least readings."""
        return slice(self.averaged, self.averaged + self.meters)

    @property
    def high(self) -> slice:
        """Greatest readings."""
        return slice(self.averaged + self.meters, self.averaged + 2 * self.meters)


class Cells:
    """Means of rows in which nothing had just moved, and the range of all rows, cell by cell.

    percent, floor_w  (meters,) classes: what moves by more than three standard deviations has moved
    interval_s        the usual step between rows
    """

    def __init__(self, layout: Layout, percent: Floats, floor_w: Floats, interval_s: float) -> None:
        self._layout = layout
        self._share, self._floor = percent[:, None] / 100, floor_w[:, None]
        self._slow = not interval_s < SLOW_S
        self._columns = Columns(layout.rows)
        self._width = _NARROWEST
        self._time: Times = np.empty(0, np.int64)
        self._rows: Floats = np.empty((layout.averaged, 0))
        self._before = 0

    def extend(self, time: Times, rows: Floats) -> None:
        """Take the next rows, (averaged, n)."""
        if not len(time):
            return
        self._time = np.concatenate((self._time, time))
        self._rows = np.concatenate((self._rows, rows), axis=1)
        minutes = self._time // _NARROWEST
        stop = int(np.searchsorted(minutes, minutes[-1]))
        if stop > self._before:
            self._columns.append(*self._gathered(stop))
            keep = max(0, stop - BEFORE)
            self._time, self._rows = self._time[keep:], self._rows[:, keep:]
            self._before = stop - keep
            if self._columns.length > _AT_MOST * MOST_CELLS:
                self._width = self._narrowed(self._columns, MOST_CELLS)

    def table(self) -> tuple[Times, Stored, int]:
        """Starts of the cells, their table (layout.rows, m), and their width, ns; the open cell is in it."""
        whole = Columns(self._layout.rows)
        whole.append(self._columns.time, self._columns.data)
        if len(self._time) > self._before:
            whole.append(*self._gathered(len(self._time)))
        width = self._narrowed(whole, MOST_CELLS)
        return whole.time, whole.data, width

    def _gathered(self, stop: int) -> tuple[Times, Floats]:
        """Cells of the rows kept, from the first that isn't gathered yet."""
        layout, part = self._layout, slice(self._before, stop)
        counted = self._steady(stop)[part]
        time, rows = self._time[part] // _NARROWEST, self._rows[:, part]
        starts = np.flatnonzero(np.concatenate(([True], time[1:] != time[:-1])))
        table = np.empty((layout.rows, len(starts)))
        table[: layout.averaged] = means(rows, starts, counted)
        table[layout.low] = np.fmin.reduceat(rows[: layout.meters], starts, axis=1)
        table[layout.high] = np.fmax.reduceat(rows[: layout.meters], starts, axis=1)
        table[-2] = np.add.reduceat(counted.astype(np.float64), starts)
        table[-1] = np.diff(np.append(starts, len(time)))
        return time[starts] * _NARROWEST, table

    def _steady(self, stop: int) -> NDArray[np.bool_]:
        """(stop,) rows in which no meter had moved since the row before, nor in that row."""
        if self._slow:
            return np.ones(stop, np.bool_)
        read = self._rows[: self._layout.meters, :stop]
        allowed = np.abs(read[:, 1:])
        allowed *= self._share
        np.maximum(allowed, self._floor, out=allowed)
        allowed *= _MOVED
        moved: NDArray[np.bool_] = np.any(np.abs(read[:, 1:] - read[:, :-1]) > allowed, axis=0)
        steady = np.ones(stop, np.bool_)
        steady[1:] &= ~moved
        steady[2:] &= ~moved[:-1]
        return steady

    def _narrowed(self, columns: Columns, most: int) -> int:
        """Make cells wider until there are not too many; returns their width, ns.

        Always step by step from the narrowest, so that it makes no difference when it is done.
        """
        width = _NARROWEST
        while width < self._width or columns.length > most:
            width *= 2
            columns.replace(*self._merged(columns.time, columns.data, width))
        return width

    def _merged(self, time: Times, data: Stored, width: int) -> tuple[Times, Stored]:
        """The same cells, those that lie in one wider cell made one."""
        layout = self._layout
        wide = time // width
        starts = np.flatnonzero(np.concatenate(([True], wide[1:] != wide[:-1])))
        counts = data[-2].astype(np.float64)
        merged = np.empty((layout.rows, len(starts)), np.float32)
        values = data[: layout.averaged].astype(np.float64)
        weights = np.where(np.isfinite(values), counts, 0.0)
        with np.errstate(invalid="ignore", divide="ignore"):
            merged[: layout.averaged] = np.add.reduceat(
                np.where(weights > 0, values, 0.0) * weights, starts, axis=1
            ) / np.add.reduceat(weights, starts, axis=1)
        merged[layout.low] = np.fmin.reduceat(data[layout.low], starts, axis=1)
        merged[layout.high] = np.fmax.reduceat(data[layout.high], starts, axis=1)
        merged[-2:] = np.add.reduceat(data[-2:], starts, axis=1)
        return wide[starts] * width, merged
