"""What is lost where a meter tells its readings in coarse steps: the same each time that it tells the same."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.book import Snapshot
from desktop.diagnosis.suspects.quantum import FINEST_W

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

UNIFORM = 12.0**-0.5
"""The standard deviation of what is spread evenly over a step, as a share of it."""

HALF_STEP = 0.5
"""As a share of a step, by how much a reading may be rounded."""

_OFTEN, _MOST = 3, 24


@dataclass(frozen=True, slots=True)
class Rounding:
    """Readings at which meters stood in several cells: what flows may lie anywhere in that step, and where it lies
    is no independent evidence each time. k of them.

    rows  (k,) meter
    sd    (k,) W
    held  (k, n) 1 in columns of a case in which the meter read nothing else
    """

    rows: Rows
    sd: Floats
    held: Floats

    @classmethod
    def none(cls, columns: int) -> Rounding:
        """Where nothing is lost."""
        return cls(np.empty(0, np.intp), np.empty(0), np.empty((0, columns)))

    @classmethod
    def of(cls, snapshot: Snapshot, cells: Rows, quantum: Floats, columns: int) -> Rounding:
        """Of these cells, which are the first of so many columns; quantum (J,) W. The most frequent are kept."""
        found: list[tuple[int, int, float, NDArray[np.bool_]]] = []
        for row in np.flatnonzero(quantum > FINEST_W).tolist():
            low = snapshot.low[row, cells]
            flat = low == snapshot.high[row, cells]
            values, counts = np.unique(low[flat], return_counts=True)
            found += [
                (count, row, value, flat & (low == value))
                for value, count in zip(values.tolist(), counts.tolist(), strict=True)
                if count >= _OFTEN
            ]
        found = sorted(found, key=lambda each: (-each[0], each[1], each[2]))[:_MOST]
        if not found:
            return cls.none(columns)
        rows = np.array([row for _, row, _, _ in found], np.intp)
        held = np.zeros((len(rows), columns))
        held[:, : len(cells)] = np.stack([marks for _, _, _, marks in found])
        return cls(rows, UNIFORM * quantum[rows], held)

    def exchanged(self, one: int, other: int) -> Rounding:
        """As it is where the readings of two meters are exchanged."""
        rows = self.rows.copy()
        rows[self.rows == one], rows[self.rows == other] = other, one
        return replace(self, rows=rows)

    def design(self, weights: Floats, gain: Floats, cells: Rows) -> Floats:
        """(m, k) what they do to an equation with these weights (J,) of meters, in these columns (m,)."""
        found: Floats = ((weights * gain)[self.rows][:, None] * self.held[:, cells]).T
        return found


def told_sd(snapshot: Snapshot, cells: Rows, quantum: Floats) -> Floats:
    """(J, m) W that a cell's mean may be off by rounding alone: the less, the more steps its readings cross."""
    crossed = (snapshot.high[:, cells] - snapshot.low[:, cells]) / quantum[:, None]
    told: Floats = UNIFORM * quantum[:, None] / np.sqrt(np.maximum(np.nan_to_num(crossed), 1.0))
    return told
