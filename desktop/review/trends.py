"""What a review keeps of every row: a float32 column per quantity that is drawn as a trend."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Single = NDArray[np.float32]

_GROWTH = 1.25
_LEAST_ROWS = 256


class Trends:
    """Columns of float32 that grow at the end. A quantity that isn't kept reads as a constant."""

    def __init__(self, names: tuple[str, ...], rows: int = 0) -> None:
        self._rows = 0
        self._columns: dict[str, Single] = {name: np.empty(rows, np.float32) for name in names}

    def __len__(self) -> int:
        return self._rows

    def __contains__(self, name: object) -> bool:
        return name in self._columns

    def append(self, values: dict[str, NDArray[np.float64]], rows: int) -> None:
        """Add rows: (rows,) values of every quantity kept."""
        stop = self._rows + rows
        for name, column in self._columns.items():
            if stop > len(column):
                column = self._columns[name] = self._longer(column, stop)
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

    def _longer(self, column: Single, rows: int) -> Single:
        longer = np.empty(max(rows, int(self._rows * _GROWTH), _LEAST_ROWS), np.float32)
        longer[: self._rows] = column[: self._rows]
        return longer
