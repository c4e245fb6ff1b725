"""The greatest step of each stretch of time, with the rows around it: what tells a reading that comes late."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.store import Times

Floats = NDArray[np.float64]

MOST_STEPS = 128
_SLOT_S, _SLOT_ROWS = 300.0, 24
_AROUND_S, _LEAST_AROUND, _MOST_AROUND = 150.0, 8, 150

LATEST_S, LATEST_ROWS = 225.0, 225
"""How late a reading may be for its step to be seen whole."""

_LEAST_LATEST = 8
_LEAST_W = 150.0


@dataclass(frozen=True, slots=True)
class Step:
    """One step.

    time   (k,) UTC nanoseconds of the rows around it
    rows   (meters, k) W
    size   by how much the meter that moved the most moved, in its own standard deviations
    """

    time: Times
    rows: NDArray[np.float32]
    size: float


def latest_rows(interval_s: float) -> int:
    """By how many rows a reading may be late."""
    return int(np.clip(round(LATEST_S / interval_s), _LEAST_LATEST, LATEST_ROWS))


class Steps:
    """Keeps the greatest step of each slot of time; slots grow twice as long when there are too many.

    A step whose surroundings aren't all there (begin, end) isn't kept.
    """

    def __init__(self, percent: Floats, floor_w: Floats, interval_s: float) -> None:
        self._share, self._floor = percent[:, None] / 100, np.maximum(floor_w[:, None], 1.0)
        interval_s = interval_s if interval_s > 0 else 1.0
        self._around = int(np.clip(round(_AROUND_S / interval_s), _LEAST_AROUND, _MOST_AROUND))
        self._behind = self._around + latest_rows(interval_s)
        self._slot = round(max(_SLOT_S, _SLOT_ROWS * interval_s) * 1e9)
        self._width = self._slot
        self._kept: dict[int, Step] = {}
        self._time: Times = np.empty(0, np.int64)
        self._rows: Floats = np.empty((len(percent), 0))
        self._first = 0

    def extend(self, time: Times, rows: Floats) -> None:
        """Take the next rows, (meters, n) W."""
        self._time = np.concatenate((self._time, time))
        self._rows = np.concatenate((self._rows, rows), axis=1)
        ready = len(self._time) - self._behind
        if ready <= self._first:
            return
        slots = self._time[: ready + 1] // self._slot
        stop = int(np.searchsorted(slots, slots[-1]))
        if stop <= self._first:
            return
        self._look(stop)
        keep = max(0, stop - self._around)
        self._time, self._rows = self._time[keep:], self._rows[:, keep:]
        self._first = stop - keep

    def steps(self) -> tuple[Step, ...]:
        """The steps kept, in order of time."""
        return tuple(self._kept[slot] for slot in sorted(self._kept))

    def _look(self, stop: int) -> None:
        first = max(self._first, self._around)
        if stop <= first:
            return
        now, before = self._rows[:, first:stop], self._rows[:, first - 1 : stop - 1]
        change = np.abs(now - before)
        size = change / np.maximum(self._share * np.maximum(np.abs(now), np.abs(before)), self._floor)
        size[~(change > _LEAST_W)] = 0.0
        greatest = np.max(size, axis=0, initial=0.0)
        slots = self._time[first:stop] // self._slot
        starts = np.flatnonzero(np.concatenate(([True], slots[1:] != slots[:-1])))
        ends: Sequence[int] = [*starts[1:].tolist(), stop - first]
        for start, end in zip(starts.tolist(), ends, strict=True):
            row = start + int(np.argmax(greatest[start:end]))
            if greatest[row] > 0:
                self._keep(first + row, float(greatest[row]))
        while len(self._kept) > MOST_STEPS:
            self._merge()

    def _keep(self, row: int, size: float) -> None:
        slot = int(self._time[row] // self._width)
        if slot not in self._kept or size > self._kept[slot].size:
            around = slice(row - self._around, row + self._behind + 1)
            self._kept[slot] = Step(self._time[around].copy(), self._rows[:, around].astype(np.float32), size)

    def _merge(self) -> None:
        self._width *= 2
        merged: dict[int, Step] = {}
        for slot in sorted(self._kept):
            step = self._kept[slot]
            if slot // 2 not in merged or step.size > merged[slot // 2].size:
                merged[slot // 2] = step
        self._kept = merged
