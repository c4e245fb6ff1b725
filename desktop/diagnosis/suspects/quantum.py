"""In which steps a display tells its readings."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.book import Snapshot

Floats = NDArray[np.float64]

_STEPS_W = (1000.0, 500.0, 250.0, 200.0, 100.0, 50.0, 25.0, 20.0, 10.0)
_MOSTLY = 0.98
_FEWEST = 4
_ROUNDING = 1e-3


def quantum_of(snapshot: Snapshot) -> Floats:
    """(J,) W; 0 where a meter of power shows no steps that matter. Amperes aren't looked at."""
    return np.array(
        [
            _steps(np.concatenate((snapshot.low[row], snapshot.high[row]))) if meter.of_power else 0.0
            for row, meter in enumerate(snapshot.meters)
        ]
    )


def _steps(values: Floats) -> float:
    values = values[np.isfinite(values) & (values != 0.0)]
    if len(np.unique(values)) < _FEWEST:
        return 0.0
    for step in _STEPS_W:
        off = np.abs(values / step - np.round(values / step))
        if np.mean(off < _ROUNDING) >= _MOSTLY:
            return step
    return 0.0
