"""Things that happen at single rows, joined into bursts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.finding import Finding

Floats = NDArray[np.float64]
Times = NDArray[np.int64]


@dataclass(slots=True)
class Burst:
    """Occurrences with short pauses between them. Times UTC nanoseconds.

    worst    the greatest size, and `noted` what else was told of that occurrence
    """

    start: int
    end: int
    count: int
    worst: float
    noted: dict[str, float] = field(default_factory=dict)


class Bursts:
    """Joins occurrences that follow each other within `pause_s`; any cutting gives the same bursts."""

    def __init__(self, pause_s: float) -> None:
        self._pause = round(pause_s * 1e9)
        self.all: list[Burst] = []
        self._told: list[Finding] = []

    def told(self, tell: Callable[[Burst], Finding]) -> list[Finding]:
        """What `tell` says of each burst. All but the last are over: each of those is told once and kept."""
        for burst in self.all[len(self._told) : -1]:
            self._told.append(tell(burst))
        return [*self._told, *map(tell, self.all[-1:])]

    def extend(self, start: Times, end: Times, size: Floats, noted: dict[str, Floats]) -> None:
        """Add k occurrences in order of time: (k,) start, end, size and other columns."""
        if not len(start):
            return
        last = self.all[-1].end if self.all else None
        apart = np.empty(len(start), np.bool_)
        apart[0] = last is None or start[0] - last > self._pause
        apart[1:] = start[1:] - end[:-1] > self._pause
        edges = [*np.flatnonzero(apart).tolist(), len(start)]
        if edges[0]:
            self._lengthen(slice(0, edges[0]), end, size, noted)
        for first, stop in pairwise(edges):
            self.all.append(Burst(int(start[first]), int(end[first]), 0, -np.inf))
            self._lengthen(slice(first, stop), end, size, noted)

    def _lengthen(self, part: slice, end: Times, size: Floats, noted: dict[str, Floats]) -> None:
        burst = self.all[-1]
        row = part.start + int(np.argmax(size[part]))
        burst.end = int(end[part.stop - 1])
        burst.count += part.stop - part.start
        if size[row] > burst.worst:
            burst.worst = float(size[row])
            burst.noted = {name: float(column[row]) for name, column in noted.items()}
