"""The greatest steps of each meter, with the rows around them: what tells a reading that comes late."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.store import Times

Floats = NDArray[np.float64]

MOST_STEPS = 96
"""Of all meters together."""

_SLOT_S, _SLOT_ROWS = 300.0, 24
_AROUND_S, _LEAST_AROUND, _MOST_AROUND = 150.0, 8, 150

LATEST_S, LATEST_ROWS = 225.0, 225
"""How late a reading may be for its step to be seen whole."""

_LEAST_LATEST = 8
_LEAST = 4.0
"""What moves by less than this many of its own deviations hasn't moved."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step.

    time   (k,) UTC nanoseconds of the rows around it
    rows   (meters, k) W
    size   by how much its meter moved, in its own standard deviations
    """

    time: Times
    rows: NDArray[np.float32]
    size: float


def latest_rows(interval_s: float) -> int:
    """By how many rows a reading may be late."""
    return int(np.clip(round(LATEST_S / interval_s), _LEAST_LATEST, LATEST_ROWS))


class Steps:
    """Keeps the greatest step of each meter in each slot of time; a meter's slots grow twice as long when there are
    too many.

    A step whose surroundings aren't all there (begin, end) isn't kept.
    """

    def __init__(self, percent: Floats, floor_w: Floats, interval_s: float) -> None:
        self._share, self._floor = percent[:, None] / 100, np.maximum(floor_w[:, None], 1.0)
        interval_s = interval_s if interval_s > 0 else 1.0
        self._around = int(np.clip(round(_AROUND_S / interval_s), _LEAST_AROUND, _MOST_AROUND))
        self._behind = self._around + latest_rows(interval_s)
        self._slot = round(max(_SLOT_S, _SLOT_ROWS * interval_s) * 1e9)
        self._most = max(1, MOST_STEPS // max(1, len(percent)))
        self._width = [self._slot] * len(percent)
        self._kept: list[dict[int, Step]] = [{} for _ in percent]
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
        middle = self._around
        found = {int(step.time[middle]): step for kept in self._kept for step in kept.values()}
        return tuple(found[time] for time in sorted(found))

    def _look(self, stop: int) -> None:
        first = max(self._first, self._around)
        if stop <= first:
            return
        now, before = self._rows[:, first:stop], self._rows[:, first - 1 : stop - 1]
        size = np.maximum(np.abs(now), np.abs(before))
        size *= self._share
        np.maximum(size, self._floor, out=size)
        np.divide(np.abs(now - before), size, out=size)
        np.copyto(size, 0.0, where=np.isnan(size))
        slots = self._time[first:stop] // self._slot
        starts = np.flatnonzero(np.concatenate(([True], slots[1:] != slots[:-1])))
        greatest = np.maximum.reduceat(size, starts, axis=1)
        ends = np.append(starts[1:], stop - first)
        around: dict[int, Step] = {}
        for meter, slot in np.argwhere(greatest > _LEAST).tolist():
            most = float(greatest[meter, slot])
            number = int(slots[starts[slot]] * self._slot // self._width[meter])
            kept = self._kept[meter]
            if number not in kept or most > kept[number].size:
                row = int(starts[slot]) + int(np.argmax(size[meter, starts[slot] : ends[slot]]))
                kept[number] = self._step(first + row, most, around)
        for meter in range(len(self._kept)):
            while len(self._kept[meter]) > self._most:
                self._merge(meter)

    def _step(self, row: int, size: float, around: dict[int, Step]) -> Step:
        """A step with the rows around it, shared where several meters moved at once."""
        if row not in around:
            part = slice(row - self._around, row + self._behind + 1)
            around[row] = Step(self._time[part].copy(), self._rows[:, part].astype(np.float32), size)
        return replace(around[row], size=size)

    def _merge(self, meter: int) -> None:
        self._width[meter] *= 2
        merged: dict[int, Step] = {}
        for slot, step in sorted(self._kept[meter].items()):
            if slot // 2 not in merged or step.size > merged[slot // 2].size:
                merged[slot // 2] = step
        self._kept[meter] = merged
