"""In which steps a meter tells its readings."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.book import Snapshot

Floats = NDArray[np.float64]

FINEST_W = 1.0
"""Powers are told in whole watts, if not more coarsely: a finer step is one of readings that are scaled down."""

_DISPLAYS_W = (100.0, 50.0, 25.0, 20.0, 10.0)
_MOSTLY, _FEWEST, _ROUNDING, _SAME = 0.98, 5, 0.01, 2e-6


def quantum_of(snapshot: Snapshot) -> Floats:
    """(J,) W: the step of each meter of power, at most FINEST_W where no step shows. Amperes aren't looked at."""
    return np.array(
        [
            _step(np.concatenate((snapshot.low[row], snapshot.high[row]))) if meter.of_power else FINEST_W
            for row, meter in enumerate(snapshot.meters)
        ]
    )


def _step(values: Floats) -> float:
    """The least difference between readings, if all others are multiples of it."""
    values = np.unique(values[np.isfinite(values) & (values != 0.0)])
    if not len(values):
        return FINEST_W
    apart = np.diff(values)
    if len(values) < _FEWEST:
        # So few may stand for any step that fits.
        display = next((step for step in _DISPLAYS_W if not np.any(values % step)), FINEST_W)
        return max(display, float(np.clip(apart.min(), 0.0, _DISPLAYS_W[0]))) if len(apart) else display
    apart = apart[apart > _SAME * float(np.abs(values).max())]
    if not len(apart):
        return FINEST_W
    step = float(apart.min())
    if _fits(values, step, float(values[0])):
        return step
    return min(step, FINEST_W)


def _fits(values: Floats, step: float, origin: float) -> bool:
    off = (values - origin) / step
    allowed = np.maximum(_ROUNDING, _SAME * np.abs(values) / step)
    return bool(np.mean(np.abs(off - np.round(off)) < allowed) >= _MOSTLY)
