"""Steps of the house load: when something was switched on or off, and how much it takes.

A step is a change of level between two stretches, each of which is known by the median of its nearest rows. So
meter noise and the resolution of a meter don't make steps, and the peak of a starting motor, which is over within
two seconds, is told apart from the level that it settles at.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Times = NDArray[np.int64]

LEAST_W = 60.0
"""Smaller steps are not told from the wandering of what always runs."""

_SIGMAS = 5.0
_LEAST_SD_W = 3.0
_SETTLES_NS = 2_500_000_000
_ROWS = 8
_TO_SD = 1.4826 / math.sqrt(2)
_OF_MEDIAN = 1.2533


@dataclass(frozen=True, slots=True)
class Step:
    """A change of level.

    time      the first row after the change began, UTC nanoseconds
    row       its number among the rows that were given
    ends      the first row at the new level
    before_w, after_w  the levels
    sd_w      one standard deviation of the change
    inrush_w  how far it went above the new level at first; 0 where it didn't
    span_s    from the last row before to the first row at the new level
    """

    time: int
    row: int
    ends: int
    before_w: float
    after_w: float
    sd_w: float
    inrush_w: float
    span_s: float

    @property
    def size_w(self) -> float:
        """How much more is taken; negative for switching off."""
        return self.after_w - self.before_w


def find_steps(time: Times, load: Floats, gap_s: float) -> list[Step]:
    """All steps, in order.

    time   (n,) UTC nanoseconds
    load   (n,) W, no NaN
    gap_s  what changes over a longer pause is no step
    """
    if len(load) < 3:
        return []
    change, pause = np.diff(load), np.diff(time)
    spread = noise_w(change)
    least = max(LEAST_W, _SIGMAS * math.sqrt(2) * spread)
    torn = pause > gap_s * 1e9
    marks = np.flatnonzero((np.abs(change) > least) & ~torn)
    if not marks.size:
        return []
    groups = _grouped(marks, change, time)
    edges = _edges(groups, np.flatnonzero(torn), len(load))
    found = (
        _step(time, load, first, last, edge, spread, least)
        for (first, last), edge in zip(groups, edges, strict=True)
    )
    return [step for step in found if step is not None]


def median(values: Floats) -> float:
    """The median of a handful of numbers; of so few a sorted list has it sooner than an array."""
    row: list[float] = sorted(values.tolist())
    middle = len(row) // 2
    return row[middle] if len(row) % 2 else 0.5 * (row[middle - 1] + row[middle])


def noise_w(change: Floats) -> float:
    """One standard deviation of a row's noise, by the median change from row to row, W."""
    middle = len(change) // 2
    return max(_LEAST_SD_W, _TO_SD * float(np.partition(np.abs(change), middle)[middle]))


def _grouped(marks: NDArray[np.int64], change: Floats, time: Times) -> list[tuple[int, int]]:
    """Marks that belong to one change: rows next to each other in one direction, or a peak that goes by."""
    apart = time[marks[1:] + 1] - time[marks[:-1] + 1]
    same = np.sign(change[marks[1:]]) == np.sign(change[marks[:-1]])
    joined = np.where(same, np.diff(marks) == 1, apart <= _SETTLES_NS)
    starts = np.flatnonzero(np.concatenate(([True], ~joined)))
    ends = np.append(starts[1:], len(marks)) - 1
    return list(zip(marks[starts].tolist(), marks[ends].tolist(), strict=True))


def _edges(groups: list[tuple[int, int]], torn: NDArray[np.int64], rows: int) -> list[tuple[int, int]]:
    """The first and last row that may be taken for the levels before and after each group."""
    edges = []
    for number, (first, last) in enumerate(groups):
        least = groups[number - 1][1] + 1 if number else 0
        most = groups[number + 1][0] if number + 1 < len(groups) else rows - 1
        position = int(np.searchsorted(torn, first))
        if position:
            least = max(least, int(torn[position - 1]) + 1)
        position = int(np.searchsorted(torn, last))
        if position < len(torn):
            most = min(most, int(torn[position]))
        edges.append((least, most))
    return edges


def _step(
    time: Times, load: Floats, first: int, last: int, edge: tuple[int, int], spread: float, least: float
) -> Step | None:
    before = load[max(edge[0], first + 1 - _ROWS) : first + 1]
    after = load[last + 1 : min(edge[1] + 1, last + 1 + _ROWS)]
    if not (before.size and after.size):
        return None
    low, high = median(before), median(after)
    if abs(high - low) < 0.7 * least:
        return None
    peak = float(load[first + 1 : last + 1].max()) - max(low, high) if last > first and high > low else 0.0
    deviation = _OF_MEDIAN * spread * math.sqrt(1 / before.size + 1 / after.size)
    span_s = float(time[last + 1] - time[first]) / 1e9
    return Step(int(time[first + 1]), first + 1, last + 1, low, high, deviation, max(peak, 0.0), span_s)
