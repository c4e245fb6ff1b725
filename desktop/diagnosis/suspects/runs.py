"""Stretches in which a meter read exactly the same, over and over."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.book import Snapshot
from desktop.diagnosis.suspects.meters import Meter
from desktop.diagnosis.suspects.nights import nights_of
from desktop.diagnosis.suspects.quantum import FINEST_W

Floats = NDArray[np.float64]

_SHORTEST_S, _FEWEST_ROWS, _FEWEST_CELLS = 300.0, 4.0, 4
_LEAST_W = 50.0
_NOISE_SHARE, _LEAST_NOISE_W, _SAME, _MOST_A_ROW = 0.8, 1.0, 2.5, 0.7
_MOST_BY_ROWS, _MOST_BY_CELLS, _MOST_IF_HELD = 200.0, 40.0, 15.0
_MOST_A_CELL, _NARROW, _BY_NARROW = 1.0, 0.02, 0.5
_NEARLY_ALL = 0.98

CERTAIN = 25.0
"""From these odds on (logarithm) a meter hangs, whatever else there may be."""

HANGING = 100.0
"""From these odds on a meter hangs though no balance is seen to suffer."""

RESTING = frozenset({"generator", "solar", "solar_ac"})
"""Streams that come to rest, where a meter reads nothing, or its offset, for hours."""

_HELD = frozenset({"battery", "converter_ac", "converter_dc"})
"""Streams that a charger at its limit holds within the step of a coarse display for hours."""

_TURNING, _NOTHING = 0.5, 3.0


@dataclass(frozen=True, slots=True)
class Runs:
    """Where a meter stood still. k stretches.

    label    (m,) number of the stretch that each cell is in; -1 for none
    value    (k,) the reading at which it stood, W
    odds     (k,) the log of how unlikely it is that a meter that is alive reads the same for so long
    """

    label: NDArray[np.intp]
    value: Floats
    odds: Floats

    @property
    def certain(self) -> NDArray[np.bool_]:
        """(k,) True where a meter that is alive would not have read the same for so long."""
        return self.odds >= CERTAIN

    @property
    def throughout(self) -> bool:
        """True where it never moved."""
        return _never_moved(self.label, self.value)


def runs_of(snapshot: Snapshot, row: int, quantum: float) -> Runs | None:
    """None where the meter stood nowhere still for long.

    quantum  the step in which it is told, W
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
    odds = np.maximum(_by_rows(meter, quantum, rows[long]), _by_cells(snapshot, row, label, quantum))
    rest = nights_of(snapshot).get(meter.stream)
    if meter.stream == "generator":
        rest = snapshot.still > _TURNING
    if rest is not None:
        # A meter with an offset reads the same as long as nothing flows, as well.
        odds *= 1.0 - np.array([rest[label == number].mean() for number in range(len(value))])
    if meter.stream in RESTING:
        # What never takes doesn't stand at less than nothing, nor again and again where its meter reads least: it
        # rests, and its meter has an offset.
        alive &= (value >= 0) & (
            (value > np.nanmin(low) + max(meter.floor_w, quantum)) | _never_moved(label, value)
        )
    return Runs(label, value, np.where(alive, odds, 0.0))


def _never_moved(label: NDArray[np.intp], value: Floats) -> bool:
    return bool((label >= 0).mean() > _NEARLY_ALL) and len(np.unique(value)) == 1


def _by_rows(meter: Meter, quantum: float, rows: Floats) -> Floats:
    """(k,) by the noise that every meter has: chances are small that it always ends in the same step."""
    noise = _NOISE_SHARE * max(meter.floor_w, _LEAST_NOISE_W)
    same = max(quantum, FINEST_W) / (_SAME * noise)
    return np.minimum(rows * min(_MOST_A_ROW, max(0.0, -math.log(same))), _MOST_BY_ROWS)


def _by_cells(snapshot: Snapshot, row: int, label: NDArray[np.intp], quantum: float) -> Floats:
    """(k,) by how often the meter moves from cell to cell while it doesn't hang, and by how narrow a step is
    beside what is read: what flows always wanders a little.
    """
    low, free = snapshot.low[row], label < 0
    known = np.isfinite(low)
    pairs = free[1:] & free[:-1] & known[1:] & known[:-1]
    moved = (low[1:] != low[:-1]) | (snapshot.high[row][1:] != low[1:])
    count = np.bincount(label[label >= 0])
    still = (float(np.sum(pairs & ~moved)) + 1.0) / (float(pairs.sum()) + 1.0)
    value = np.array([np.abs(low[label == number][0]) for number in range(len(count))])
    narrow = np.where(quantum < _NARROW * value, _BY_NARROW, 0.0)
    a_cell = np.maximum(narrow, min(_MOST_A_CELL, -math.log(min(still, 1.0))))
    most = _MOST_IF_HELD if snapshot.meters[row].stream in _HELD else _MOST_BY_CELLS
    by_cells: Floats = np.minimum(count * a_cell, most)
    return by_cells


def _flat(snapshot: Snapshot, row: int) -> NDArray[np.bool_]:
    """(m,) cells with one reading only. A generator that stands still may read nothing all the time."""
    low = snapshot.low[row]
    flat: NDArray[np.bool_] = (low == snapshot.high[row]) & np.isfinite(low)
    stream = snapshot.meters[row].stream
    if stream == "generator":
        flat &= ~((snapshot.still > _TURNING) & (np.abs(low) <= _NOTHING * snapshot.meters[row].floor_w))
    return flat
