"""Weighted sums of a few rows, evaluated for all columns at once and without temporaries."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

Terms = tuple[tuple[int, float], ...]
"""(row, weight) of each row that takes part."""


class Rows(Protocol):
    """A list or a mapping of rows by number."""

    def __getitem__(self, row: int, /) -> Floats: ...


def terms_of(weights: Floats) -> Terms:
    """The weights that aren't zero, with their rows."""
    return tuple((int(row), float(weights[row])) for row in np.flatnonzero(weights))


def weigh(terms: Terms, rows: Rows, out: Floats, spare: Floats) -> None:
    """out = Σ weight·row. `spare` is scratch of the same length; neither may be one of the rows."""
    if not terms:
        out.fill(0.0)
        return
    (row, weight), *rest = terms
    if weight == 1.0 and rest and abs(rest[0][1]) == 1.0:
        (second, sign), *rest = rest
        (np.add if sign > 0 else np.subtract)(rows[row], rows[second], out=out)
    else:
        np.multiply(rows[row], weight, out=out)
    for row, weight in rest:
        if weight == 1.0:
            np.add(out, rows[row], out=out)
        elif weight == -1.0:
            np.subtract(out, rows[row], out=out)
        else:
            np.multiply(rows[row], weight, out=spare)
            np.add(out, spare, out=out)


class Scratch:
    """Working memory that is used again for every run of rows, so that it stays in the processor's cache.

    spare  one more array, for what is needed only within a sum
    """

    def __init__(self) -> None:
        self.spare: Floats = np.empty(0)
        self._length = -1
        self._stores: list[Floats] = []
        self._views: list[Floats] = []
        self._taken = 0

    def begin(self, length: int) -> None:
        """Give everything back; arrays taken from now on have this length."""
        if length != self._length:
            if self._stores and len(self._stores[0]) < length:
                self._stores.clear()
            self._length = length
            self._views = [store[:length] for store in self._stores]
            self._taken = 0
            self.spare = self.take()
        self._taken = 1

    def take(self) -> Floats:
        """(length,) whose content is undefined."""
        if self._taken == len(self._views):
            size = len(self._stores[0]) if self._stores else self._length
            self._stores.append(np.empty(size))
            self._views.append(self._stores[-1][: self._length])
        self._taken += 1
        return self._views[self._taken - 1]

    def mark(self) -> int:
        """A point to come back to with `back`."""
        return self._taken

    def back(self, mark: int) -> None:
        """Give back what was taken since a mark."""
        self._taken = mark
