"""Growing columns, and how rows of one cell are gathered."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Stored = NDArray[np.float32]
Times = NDArray[np.int64]

_LEAST = 256


class Columns:
    """A table (rows, n) of single precision that grows at its end."""

    def __init__(self, rows: int) -> None:
        self._data: Stored = np.empty((rows, _LEAST), np.float32)
        self._time: Times = np.empty(_LEAST, np.int64)
        self.length = 0

    @property
    def time(self) -> Times:
        """(n,)"""
        return self._time[: self.length]

    @property
    def data(self) -> Stored:
        """(rows, n)"""
        return self._data[:, : self.length]

    def append(self, time: Times, data: Floats | Stored) -> None:
        """Add columns at the end."""
        stop = self.length + len(time)
        if stop > len(self._time):
            room = max(stop, 2 * len(self._time))
            self._time = np.resize(self._time, room)
            wider = np.empty((len(self._data), room), np.float32)
            wider[:, : self.length] = self.data
            self._data = wider
        self._time[self.length : stop] = time
        self._data[:, self.length : stop] = data
        self.length = stop

    def replace(self, time: Times, data: Stored) -> None:
        """Put other columns in place of all there are."""
        self.length = 0
        self.append(time, data)


def means(values: Floats, starts: NDArray[np.intp], counted: NDArray[np.bool_]) -> Floats:
    """(k, m) means of the values (k, n) over runs of rows that begin at `starts` (m,), of the rows that count.

    NaN readings are left out; NaN where nothing is left.
    """
    finite = np.isfinite(values)
    finite &= counted
    sums = np.add.reduceat(np.where(finite, values, 0.0), starts, axis=1)
    counts = np.add.reduceat(finite.astype(np.float64), starts, axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        return sums / counts
