"""When the sun doesn't shine, by the meter of solar power itself: the long flat bottom of its readings."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.book import Snapshot

_LONG_S = 3 * 3600.0
_STREAMS = ("solar", "solar_ac")
_DARK = 3.0


def nights_of(snapshot: Snapshot) -> dict[str, NDArray[np.bool_]]:
    """Stream → (m,) True in cells of stretches of some hours in which the meter stays at its lowest."""
    found = {}
    for row, meter in enumerate(snapshot.meters):
        if meter.stream not in _STREAMS or not np.isfinite(snapshot.low[row]).any():
            continue
        near = max(meter.floor_w, 1.0)
        if np.nanmin(snapshot.low[row]) > _DARK * near:
            # An offset, or a meter that hangs: nobody knows which.
            continue
        bottom = snapshot.high[row] <= np.nanmin(snapshot.low[row]) + near
        changes = np.flatnonzero(np.diff(np.concatenate(([False], bottom, [False])).astype(np.int8)))
        night = np.zeros(len(bottom), np.bool_)
        for begin, end in changes.reshape(-1, 2).tolist():
            if snapshot.time[end - 1] - snapshot.time[begin] >= _LONG_S * 1e9:
                night[begin:end] = True
        # A meter that never moves shows no night.
        if not bottom.all():
            found[meter.stream] = night
    return found
