"""Findings on a strip of pixels: as few bands and marks as can be told apart, the most urgent ones kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.finding import SEVERITIES, Severity
from desktop.picture.trends.source import Band

_URGENCY = {severity: rank for rank, severity in enumerate(SEVERITIES)}


@dataclass(frozen=True, slots=True)
class Stretch:
    """From one pixel to another, in a severity's colour."""

    left: float
    right: float
    severity: Severity


@dataclass(frozen=True, slots=True)
class Mark:
    """A severity's shape at a pixel; it stands for `count` findings, `index` being the most urgent of them."""

    at: float
    severity: Severity
    count: int
    index: int


class BandTable:
    """The bands of a source as arrays, so that thousands cost no more than a few."""

    def __init__(self, bands: Sequence[Band]) -> None:
        self.bands = list(bands)
        self.start: NDArray[np.int64] = np.array([band.start for band in self.bands], np.int64)
        self.end: NDArray[np.int64] = np.array(
            [np.iinfo(np.int64).max if band.end is None else band.end for band in self.bands], np.int64
        )
        self.rank = np.array([_URGENCY[band.severity] for band in self.bands], np.int64)

    def stretches(
        self, origin: int, width: float, count: float, last: int, thinnest: float = 2.0
    ) -> list[Stretch]:
        """Bands in pixels of `width` nanoseconds from `origin` on, cut to [0, count], the least urgent first.

        Overlapping ones of a severity are one; none is thinner than `thinnest`; open ones end at `last`.
        """
        left = (self.start - origin) / width
        right = np.maximum((np.minimum(self.end, last) - origin) / width, left + thinnest)
        seen = (right > 0) & (left < count)
        left, right = np.maximum(left, 0.0), np.minimum(right, float(count))
        found: list[Stretch] = []
        for severity in reversed(SEVERITIES):
            mine = np.flatnonzero((self.rank == _URGENCY[severity]) & seen)
            found += [Stretch(a, b, severity) for a, b in _united(left[mine], right[mine])]
        return found

    def marks(self, origin: int, width: float, count: float, apart: float) -> list[Mark]:
        """Marks at the starts of bands, in order, no two nearer than `apart` pixels.

        A mark stands where its most urgent finding begins; one that began before is marked at the edge while
        it lasts.
        """
        at = (self.start - origin) / width
        seen = np.flatnonzero((at <= count) & ((self.end - origin) / width >= 0))
        if not len(seen):
            return []
        at = np.maximum(at, 0.0)
        cells = np.floor(at[seen] / apart).astype(np.int64)
        order = np.lexsort((at[seen], self.rank[seen], cells))
        _, first, counts = np.unique(cells[order], return_index=True, return_counts=True)
        marks: list[Mark] = []
        for index, number in zip(seen[order[first]], counts, strict=True):
            mark = Mark(float(at[index]), SEVERITIES[self.rank[index]], int(number), int(index))
            if marks and mark.at - marks[-1].at < apart:
                mark = _joint(marks.pop(), mark)
            marks.append(mark)
        return marks


def _joint(one: Mark, other: Mark) -> Mark:
    lead = min(one, other, key=lambda mark: _URGENCY[mark.severity])
    return Mark(lead.at, lead.severity, one.count + other.count, lead.index)


def _united(left: NDArray[np.float64], right: NDArray[np.float64]) -> list[tuple[float, float]]:
    if not len(left):
        return []
    order = np.argsort(left, kind="stable")
    left, reach = left[order], np.maximum.accumulate(right[order])
    begins = np.flatnonzero(np.concatenate([[True], left[1:] > reach[:-1]]))
    ends = np.append(begins[1:], len(left)) - 1
    return [(float(a), float(b)) for a, b in zip(left[begins], reach[ends], strict=True)]
