"""The pixel columns of a time axis, and what a series shows in each of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.picture.levels import Levels, Rows, Values

Times = NDArray[np.int64]
Floats = NDArray[np.float64]

_SPARSE = 2
"""Rows per pixel up to which every row is drawn as a point."""

_REACH = 64
"""Rows to look back or ahead for the nearest value where the row at a column's edge has none."""


@dataclass(frozen=True, slots=True)
class Spans:
    """(count,) lowest and highest value that the curve reaches in each column; NaN where it is broken."""

    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class Points:
    """Every reading of the window and its nearest neighbours outside.

    at      (n,) column coordinate, 0 at the window's left edge
    value   (n,)
    joined  (n,) True where a line leads to the next point; False in the last
    """

    at: Floats
    value: Floats
    joined: NDArray[np.bool_]


class Columns:
    """A window of time cut into `count` columns of `width` nanoseconds, laid over rows at the times `time`.

    Edges are whole multiples of the width, so that moving by whole columns shows the same columns elsewhere.

    time     (n,) UTC nanoseconds, strictly rising
    start, stop  the window wanted, UTC nanoseconds; the columns begin within half a column of start
    bridge   the longest step between readings that a line may cross, nanoseconds
    gaps     (m, 2) start and end of the telemetry gaps, in order, UTC nanoseconds: no line crosses one
    pixels   how many pixels wide a column is drawn
    """

    def __init__(
        self,
        time: Times,
        start: int,
        stop: int,
        count: int,
        bridge: int,
        gaps: Times | None = None,
        pixels: int = 1,
    ) -> None:
        self.time = time
        self.pixels = pixels
        self.count = max(1, count)
        self.width = max(1, round((stop - start) / self.count))
        self.start = round(start / self.width) * self.width
        self.bridge = bridge
        self.gaps = np.empty((0, 2), np.int64) if gaps is None else gaps
        self.edges: Times = self.start + np.arange(self.count + 1, dtype=np.int64) * self.width
        self.rows: Rows = np.searchsorted(time, self.edges)

    @property
    def stop(self) -> int:
        """Where the last column ends, UTC nanoseconds."""
        return self.start + self.count * self.width

    @property
    def rows_shown(self) -> int:
        """Rows in the window."""
        return int(self.rows[-1] - self.rows[0])

    @property
    def sparse(self) -> bool:
        """True where every row can be drawn; else each column shows its lowest and highest value."""
        return self.rows_shown <= _SPARSE * self.pixels * self.count

    def at(self, instant: Times | int) -> Floats:
        """Column coordinates of instants (UTC nanoseconds), 0 at the left edge."""
        return np.asarray((np.asarray(instant) - self.start) / self.width, np.float64)

    def points(self, values: Values) -> Points:
        """The readings themselves. `values` (n,) has a row per time."""
        first = max(0, int(self.rows[0]) - _REACH)
        last = min(len(values), int(self.rows[-1]) + _REACH)
        some = np.flatnonzero(np.isfinite(values[first:last])) + first
        left = max(0, int(np.searchsorted(some, self.rows[0])) - 1)
        right = int(np.searchsorted(some, self.rows[-1])) + 1
        some = some[left:right]
        when = self.time[some]
        joined = np.zeros(len(some), np.bool_)
        joined[:-1] = self._joined(when[:-1], when[1:])
        return Points(self.at(when), values[some].astype(np.float64), joined)

    def spans(self, values: Values, levels: Levels) -> Spans:
        """What the curve covers in each column: its readings, and the lines from one to the next."""
        low, high = levels.extremes(values, self.rows)
        crossing = self._crossings(values, np.isfinite(low))
        return Spans(
            np.fmin(low, np.fmin(crossing[:-1], crossing[1:])).astype(np.float64),
            np.fmax(high, np.fmax(crossing[:-1], crossing[1:])).astype(np.float64),
        )

    def _crossings(self, values: Values, filled: NDArray[np.bool_]) -> Floats:
        """(count + 1,) where the curve crosses each edge; NaN where it doesn't."""
        total = len(values)
        ends = np.concatenate([self.rows, [min(total, int(self.rows[-1]) + _REACH)]])
        begins = np.concatenate([[max(0, int(self.rows[0]) - _REACH)], self.rows])
        used = np.concatenate([[ends[0] > begins[0]], filled, [ends[-1] > begins[-1]]])
        final = _nearest(values, ends - 1, begins, used, -1)
        initial = _nearest(values, begins, ends - 1, used, +1)
        before = _carried(final, used)[:-1]
        after = _carried(initial[::-1], used[::-1])[::-1][1:]
        crossing = np.full(self.count + 1, np.nan)
        known = np.flatnonzero((before >= 0) & (after >= 0))
        if not len(known):
            return crossing
        old, new = before[known], after[known]
        since, until = self.time[old], self.time[new]
        share = (self.edges[known] - since) / np.maximum(until - since, 1)
        level = values[old] + (values[new].astype(np.float64) - values[old]) * share
        crossing[known] = np.where(self._joined(since, until), level, np.nan)
        return crossing

    def _joined(self, since: Times, until: Times) -> NDArray[np.bool_]:
        near = until - since <= self.bridge
        if len(self.gaps):
            # The first gap that ends after `since` must not begin before `until`.
            following = np.searchsorted(self.gaps[:, 1], since, side="right")
            starts = np.append(self.gaps[:, 0], np.iinfo(np.int64).max)
            near &= starts[following] >= until
        return near


def _nearest(values: Values, rows: Rows, ends: Rows, used: NDArray[np.bool_], step: int) -> Rows:
    """The first row from `rows` on towards `ends` that has a value; -1 where none is near."""
    found = np.where(used, rows, -1)
    seeking = np.flatnonzero(used)
    for _ in range(_REACH):
        seeking = seeking[np.isnan(values[found[seeking]])]
        if not len(seeking):
            return found
        over = found[seeking] == ends[seeking]
        found[seeking[over]] = -1
        seeking = seeking[~over]
        found[seeking] += step
    found[seeking] = -1
    return found


def _carried(rows: Rows, used: NDArray[np.bool_]) -> Rows:
    """Each row, or where its column is not used, that of the last used column before; -1 where there is none."""
    latest = np.maximum.accumulate(np.where(used, np.arange(len(rows)), -1))
    return np.where(latest >= 0, rows[latest], -1)
