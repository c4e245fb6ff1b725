"""Small tables of numbers that grow at their end."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_GROWTH = 1.25
_LEAST_ROOM = 64


class Records:
    """A table of named columns, float64, to which records are added.

    fields  the columns' names, in order
    """

    def __init__(self, fields: tuple[str, ...]) -> None:
        self.fields = fields
        self._room: Floats = np.empty((len(fields), 0))
        self._used = 0

    def __len__(self) -> int:
        return self._used

    def extend(self, records: Floats) -> None:
        """Add (fields, n) records."""
        stop = self._used + records.shape[1]
        if stop > self._room.shape[1]:
            longer = np.empty((len(self.fields), max(stop, int(self._used * _GROWTH), _LEAST_ROOM)))
            longer[:, : self._used] = self._room[:, : self._used]
            self._room = longer
        self._room[:, self._used : stop] = records
        self._used = stop

    def table(self, *more: Floats) -> Table:
        """A copy of all records, with (fields, n) more at its end."""
        return Table(self.fields, np.concatenate((self._room[:, : self._used], *more), axis=1))


class Table:
    """Records that don't change any more; columns are read by name, (n,) each."""

    def __init__(self, fields: tuple[str, ...], columns: Floats) -> None:
        self._at = {name: row for row, name in enumerate(fields)}
        self._columns = columns

    def __len__(self) -> int:
        return int(self._columns.shape[1])

    def __getitem__(self, name: str) -> Floats:
        column: Floats = self._columns[self._at[name]]
        return column

    def take(self, rows: NDArray[np.bool_] | NDArray[np.intp]) -> Table:
        """Some of the records."""
        return Table(tuple(self._at), self._columns[:, rows])
