"""How readings go on, some seconds at a time, over evenly spread stretches: what tells a reading that comes late by
how everything wanders.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.steps import latest_rows
from desktop.diagnosis.suspects.store import Columns, Stored, Times, means

Floats = NDArray[np.float64]

CELL_S = 5.0
"""Shorter cells tell little more: what wanders does so more slowly."""

MOST_STRETCHES = 16
_STRETCH_S, _LATEST = 1800.0, 8


def latest_cells(interval_s: float) -> int:
    """By how many cells a reading may be late."""
    return latest_rows(max(CELL_S, interval_s))


def width_ns(interval_s: float) -> int:
    """Of a cell: so many rows, as far apart as usual."""
    interval_s = interval_s if interval_s > 0 else 1.0
    return max(1, round(interval_s * max(1, round(CELL_S / interval_s)) * 1e9))


class Course:
    """Means of cells. Where there are too many stretches of time every other one is dropped, again and again."""

    def __init__(self, meters: int, interval_s: float) -> None:
        self._width = width_ns(interval_s)
        self._cells = max(_LATEST * latest_cells(interval_s), round(_STRETCH_S * 1e9 / self._width))
        self._columns = Columns(meters)
        self._time: Times = np.empty(0, np.int64)
        self._rows: Floats = np.empty((meters, 0))
        self._every = 1

    def extend(self, time: Times, rows: Floats) -> None:
        """Take the next rows, (meters, n) W."""
        self._time = np.concatenate((self._time, time))
        self._rows = np.concatenate((self._rows, rows), axis=1)
        number = self._time // self._width
        stop = int(np.searchsorted(number, number[-1])) if len(number) else 0
        if not stop:
            return
        self._columns.append(*self._gathered(stop))
        self._time, self._rows = self._time[stop:], self._rows[:, stop:]
        self._thin(self._columns)

    def table(self) -> tuple[Times, Stored, int]:
        """Starts of the cells, (meters, m) W, and how long a cell is, ns; the open one isn't in it."""
        return self._columns.time.copy(), self._columns.data.copy(), self._width

    def _gathered(self, stop: int) -> tuple[Times, Floats]:
        number = self._time[:stop] // self._width
        kept = self._kept(number)
        number, rows = number[kept], self._rows[:, :stop][:, kept]
        if not len(number):
            return number, rows
        starts = np.flatnonzero(np.concatenate(([True], number[1:] != number[:-1])))
        return number[starts] * self._width, means(rows, starts, np.ones(len(number), np.bool_))

    def _kept(self, number: Times) -> NDArray[np.bool_]:
        kept: NDArray[np.bool_] = number // self._cells % self._every == 0
        return kept

    def _thin(self, columns: Columns) -> None:
        while np.count_nonzero(np.diff(columns.time // self._width // self._cells)) >= MOST_STRETCHES:
            self._every *= 2
            kept = self._kept(columns.time // self._width)
            columns.replace(columns.time[kept], columns.data[:, kept])
