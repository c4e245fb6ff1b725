"""What a review keeps of every row: a float32 column per quantity that is drawn as a trend."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from recordings.room import IN_MEMORY, Room

Single = NDArray[np.float32]

_GROWTH = 1.25
_LEAST_ROWS = 256


class Trends:
    """Columns of float32 that grow at the end. A quantity that isn't kept reads as a constant.

    rows  how many are expected
    room  where the columns lie
    """

    def __init__(self, names: tuple[str, ...], rows: int = 0, room: Room = IN_MEMORY) -> None:
        self._rows = 0
        self._room = room
        nothing = np.empty(0, np.float32)
        self._columns: dict[str, Single] = {name: room.longer(nothing, 0, rows) for name in names}

    def __len__(self) -> int:
        return self._rows

    def __contains__(self, name: object) -> bool:
        return name in self._columns

    def append(self, values: dict[str, NDArray[np.float64]], rows: int) -> None:
        """Add rows: (rows,) values of every quantity kept."""
        stop = self._rows + rows
        for name, column in self._columns.items():
            if stop > len(column):
                room = max(stop, int(self._rows * _GROWTH), _LEAST_ROWS)
                column = self._columns[name] = self._room.longer(column, self._rows, room)
            column[self._rows : stop] = values[name]
        self._rows = stop

    def column(self, name: str, otherwise: float = float("nan")) -> Single:
        """(n,) read-only values of a quantity; `otherwise` throughout where it isn't kept."""
        column = self._columns.get(name)
        if column is None:
            return np.broadcast_to(np.float32(otherwise), (self._rows,))
        view = column[: self._rows]
        view.flags.writeable = False
        return view
