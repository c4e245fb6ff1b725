"""The newest rows of some columns, so that what happened shortly before can be looked up."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Times = NDArray[np.int64]


class Tail:
    """Keeps the rows of the last seconds as blocks go by.

    What is looked up must not depend on how rows were cut into blocks: ask only for rows that are less than
    `seconds` older than a row of the newest block.
    """

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        self.time: Times = np.empty(0, np.int64)
        self._columns: dict[str, Floats] = {}

    def first(self, time: Times) -> int:
        """The first of new rows that is still kept once they have been added."""
        return int(np.searchsorted(time, int(time[-1]) - round(self.seconds * 1e9))) if len(time) else 0

    def joined(self, time: Times, columns: dict[str, Floats]) -> tuple[Times, dict[str, Floats]]:
        """The kept rows followed by new ones. The same columns must be given each time."""
        if not len(self.time):
            return time, columns
        return (
            np.concatenate((self.time, time)),
            {name: np.concatenate((self._columns[name], new)) for name, new in columns.items()},
        )

    def extend(self, time: Times, columns: dict[str, Floats]) -> None:
        """Add new rows and let go of those that have become too old."""
        if not len(time):
            return
        oldest = int(time[-1]) - round(self.seconds * 1e9)
        if time[0] <= oldest:
            first = self.first(time)
            self.time = time[first:].copy()
            self._columns = {name: new[first:].copy() for name, new in columns.items()}
            return
        every, all_columns = self.joined(time, columns)
        first = int(np.searchsorted(every, oldest))
        self.time = every[first:].copy()
        self._columns = {name: column[first:].copy() for name, column in all_columns.items()}
