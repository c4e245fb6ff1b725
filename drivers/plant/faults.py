"""Faults of meters, to order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from drivers.plant.scenario import Fault

Floats = NDArray[np.float64]
Rows = NDArray[np.bool_]


def lie(fault: Fault, reading: Floats, rows: Rows) -> None:
    """Let a meter lie in these rows; `reading` (n,) is changed in place."""
    if not rows.any():
        return
    value = 0.0 if fault.value is None else fault.value
    match fault.kind:
        case "reversed":
            reading[rows] = -reading[rows]
        case "scale":
            reading[rows] *= value
        case "offset":
            reading[rows] += value
        case "stuck":
            reading[rows] = reading[int(np.argmax(rows))]
        case "missing":
            reading[rows] = np.nan


def swap(one: Floats, other: Floats, rows: Rows) -> None:
    """Exchange two meters' readings in these rows, in place."""
    one[rows], other[rows] = other[rows], one[rows].copy()


def loses_leg(channel: str, faults: Sequence[Fault], truth: Mapping[str, Floats]) -> str:
    """Which true value a meter sees: its channel's, or one leg of it where it lost the other."""
    lost = any(fault.kind == "one_leg" and fault.channel == channel for fault in faults)
    return f"{channel}_l1" if lost and f"{channel}_l1" in truth else channel
