"""Stretches in which a meter read exactly the same, over and over."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.book import Snapshot
from desktop.diagnosis.suspects.nights import nights_of

Floats = NDArray[np.float64]

_SHORTEST_S, _FEWEST_ROWS, _FEWEST_CELLS = 300.0, 5.0, 4
_MANY_ROWS = 50.0
_LEAST_W = 50.0
_NEARLY_ALL = 0.98
_TURNING = 0.5


@dataclass(frozen=True, slots=True)
class Runs:
    """Where a meter stood still. k stretches.

    label    (m,) number of the stretch that each cell is in; -1 for none
    value    (k,) the reading at which it stood, W
    certain  (k,) True where a meter that is alive would not have read the same for so long
    """

    label: NDArray[np.intp]
    value: Floats
    certain: NDArray[np.bool_]

    @property
    def throughout(self) -> bool:
        """True where it never moved."""
        return bool((self.label >= 0).mean() > _NEARLY_ALL) and len(np.unique(self.value)) == 1


def runs_of(snapshot: Snapshot, row: int, quantum: float) -> Runs | None:
    """None where the meter stood nowhere still for long.

    quantum  the step in which it is told, W; 0 for fine ones
    """
    low, flat = snapshot.low[row], _flat(snapshot, row)
    if flat.sum() < _FEWEST_CELLS:
        return None
    breaks = low[1:] != low[:-1]
    begins = np.flatnonzero(flat & np.concatenate(([True], ~flat[:-1] | breaks)))
    ends = np.flatnonzero(flat & np.concatenate((~flat[1:] | breaks, [True])))
    counted = np.concatenate(([0.0], np.cumsum(snapshot.rows)))
    rows = counted[ends + 1] - counted[begins]
    seconds = (snapshot.time[ends] - snapshot.time[begins]) / 1e9 + snapshot.width_s
    long = (seconds >= _SHORTEST_S) & (rows >= _FEWEST_ROWS) & (ends - begins + 1 >= _FEWEST_CELLS)
    if not long.any():
        return None
    label = np.full(len(low), -1, np.intp)
    for number, (begin, end) in enumerate(zip(begins[long].tolist(), ends[long].tolist(), strict=True)):
        label[begin : end + 1] = number
    value = low[begins[long]]
    turning = snapshot.meters[row].stream == "generator" and bool(np.isfinite(snapshot.still).any())
    meter = snapshot.meters[row]
    alive = (np.abs(value) > max(_LEAST_W, 3 * meter.floor_w)) | ((value == 0) & turning)
    return Runs(label, value, alive & (quantum == 0) & (rows[long] >= _MANY_ROWS))


def _flat(snapshot: Snapshot, row: int) -> NDArray[np.bool_]:
    """(m,) cells with one reading only. A generator that stands still, or the sun at night, may read the same."""
    low = snapshot.low[row]
    flat: NDArray[np.bool_] = (low == snapshot.high[row]) & np.isfinite(low)
    stream = snapshot.meters[row].stream
    if stream == "generator":
        flat &= ~(snapshot.still > _TURNING)
    night = nights_of(snapshot).get(stream)
    if night is not None:
        flat &= (low == 0) | ~night
    return flat
