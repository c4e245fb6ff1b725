"""Columns that grow block by block and are copied once."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from recordings.tables.stamps import Stamps

_GROWTH = 1.25


class Growing:
    """One array that grows at its end. Room for the rows that are expected is set aside from the start."""

    def __init__(self, kind: type[np.generic], expected: int) -> None:
        self._room: NDArray[Any] = np.empty(max(expected, 1), kind)
        self._used = 0

    def extend(self, values: NDArray[Any]) -> None:
        """Add values at the end."""
        stop = self._used + len(values)
        if stop > len(self._room):
            longer = np.empty(max(stop, int(len(self._room) * _GROWTH)), self._room.dtype)
            longer[: self._used] = self._room[: self._used]
            self._room = longer
        self._room[self._used : stop] = values
        self._used = stop

    def taken(self) -> NDArray[Any]:
        """Everything so far, sharing memory."""
        return self._room[: self._used]


class GrowingStamps:
    """The stamps of a whole file, from those of its blocks."""

    def __init__(self, expected: int) -> None:
        self._expected = expected
        self._ns = Growing(np.int64, expected)
        self._fixed = Growing(np.bool_, expected)
        self._valid = Growing(np.bool_, expected)
        self._parts: Growing | None = None

    def extend(self, stamps: Stamps) -> None:
        """Add a block's stamps at the end."""
        if stamps.parts is not None and self._parts is None:
            self._parts = Growing(np.int64, self._expected)
            self._parts.extend(np.full(len(self._ns.taken()), -1))
        if self._parts is not None:
            self._parts.extend(np.full(len(stamps.ns), -1) if stamps.parts is None else stamps.parts)
        self._ns.extend(stamps.ns)
        self._fixed.extend(stamps.fixed)
        self._valid.extend(stamps.valid)

    def taken(self) -> Stamps:
        """Everything so far."""
        parts = None if self._parts is None else self._parts.taken()
        return Stamps(self._ns.taken(), self._fixed.taken(), self._valid.taken(), parts)
