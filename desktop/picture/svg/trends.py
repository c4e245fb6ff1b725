"""Trends as SVG: panes on one time axis, with findings, gaps and limits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from desktop.picture.axes import Tick, day_label, time_ticks
from desktop.picture.palette import THEMES
from desktop.picture.svg.elements import coordinate, document, element, line_data, severity_mark, text_at
from desktop.picture.svg.letters import EM_PX, text_width
from desktop.picture.trends.bands import BandTable
from desktop.picture.trends.colours import mixed_colour, trend_colour
from desktop.picture.trends.columns import Columns, Points, Spans
from desktop.picture.trends.covered import Covered, covered, crosses
from desktop.picture.trends.labels import Box, Head, Level, name_spots
from desktop.picture.trends.source import LimitLine, Pane, Series, TrendSource
from desktop.picture.trends.store import LevelStore
from desktop.picture.trends.value_axis import ValueAxis, value_axis
from desktop.words import tr

_AXIS_PX = 48.0
_RIGHT_PX = 12.0
_LANE_PX = 14.0
_HEAD_PX = 20.0
_GAP_PX = 12.0
_TIMES_PX = 36.0
_MARK_PX = 9.0
_BAND_SHARE = 0.16
_SMALL, _NAME = 0.85, 0.75
_DASH_PX = 13.0
_RISE = 0.58
"""How far the middle of capitals lies above the lowest that letters reach, as a share of their height."""
_LINES, _LINE_HEIGHTS = 4, 1.8


def trends_svg(
    source: TrendSource,
    title: str,
    *,
    between: tuple[int, int] | None = None,
    at: Sequence[int] = (),
    width: float = 760.0,
    pane_height: float = 110.0,
    theme: str = "light",
) -> str:
    """The curves that are shown at first as one SVG element.

    title    what a screen reader says of it
    between  from when to when, UTC nanoseconds; None for all of it
    at       instants to mark with a line, UTC nanoseconds
    """
    shown = [series for series in source.series if series.shown]
    panes = [pane for pane in source.panes if any(series.pane == pane.key for series in shown)]
    start, stop = between or (int(source.time[0]), int(source.time[-1]) + 1)
    across = width - _AXIS_PX - _RIGHT_PX
    columns = Columns(source.time, start, stop, max(1, round(across)), source.bridge, source.gaps)
    sheet = _Sheet(source, LevelStore(source), shown, panes, columns, across, pane_height, theme)
    height = _LANE_PX + len(panes) * (_HEAD_PX + pane_height + _GAP_PX) + _TIMES_PX
    return document(width, height, title, "".join(sheet.pieces(at)), THEMES[theme]["ground"])


@dataclass(frozen=True, slots=True)
class _Sheet:
    source: TrendSource
    store: LevelStore
    shown: list[Series]
    panes: list[Pane]
    columns: Columns
    across: float
    pane_height: float
    theme: str

    def pieces(self, at: Sequence[int]) -> Iterator[str]:
        spacing = 1.4 * text_width("00:00:00", _SMALL)
        most = max(1, int(self.across / spacing))
        ticks = time_ticks(self.columns.start, self.columns.stop, most, self.source.zone)
        top = _LANE_PX
        yield from self._findings()
        for pane in self.panes:
            yield from self._pane(pane, top + _HEAD_PX, ticks, at)
            top += _HEAD_PX + self.pane_height + _GAP_PX
        for instant in at:
            x = self._x(instant)
            yield self._stroke([(x, _LANE_PX), (x, top - _GAP_PX)], self._colour("cursor"), 1.0)
        yield from self._times(ticks, top - _GAP_PX + 0.9 * EM_PX)

    @property
    def _lines(self) -> int:
        """How many steps a value axis has: their numbers need room one above the other."""
        return min(_LINES, max(1, int(self.pane_height / (_LINE_HEIGHTS * _SMALL * EM_PX))))

    def _colour(self, role: str) -> str:
        return trend_colour(self.theme, role)

    def _x(self, instant: int) -> float:
        return _AXIS_PX + float(self.columns.at(instant)) * self.across / self.columns.count

    def _stroke(
        self, points: list[tuple[float, float]], colour: str, thick: float, dash: str | None = None
    ) -> str:
        return element(
            "path",
            d=line_data(points),
            fill="none",
            stroke=colour,
            stroke_width=coordinate(thick),
            stroke_dasharray=dash,
        )

    def _findings(self) -> Iterator[str]:
        table = BandTable(self.source.bands)
        columns = self.columns
        for mark in table.marks(columns.start, columns.width, columns.count, _MARK_PX + 2):
            x = _AXIS_PX + mark.at * self.across / columns.count
            yield severity_mark((x, _LANE_PX / 2), _MARK_PX, mark.severity, THEMES[self.theme][mark.severity])

    def _pane(self, pane: Pane, top: float, ticks: list[Tick], at: Sequence[int]) -> Iterator[str]:
        mine = [series for series in self.shown if series.pane == pane.key]
        drawn = {series.key: self.store.drawn(series, self.columns) for series in mine}
        limits = [limit for limit in self.source.limits if limit.pane == pane.key]
        axis = value_axis(pane, drawn.values(), [limit.value for limit in limits], self._lines)
        place = _Place(axis, pane.scale, top, self.pane_height)
        yield from self._ground(place, ticks)
        for limit in limits:
            y = place.y(np.array([limit.value]))[0]
            yield self._stroke(
                [(_AXIS_PX, y), (_AXIS_PX + self.across, y)], self._colour("muted"), 1.0, "4 3"
            )
        for series in mine:
            yield from self._curve(drawn[series.key], place, self._colour(series.role))
        curves = [covered(what, self.columns.count, place.y) for what in drawn.values()]
        yield from self._names(pane, mine, limits, place, curves, at)

    def _names(
        self,
        pane: Pane,
        mine: list[Series],
        limits: Sequence[LimitLine],
        place: _Place,
        curves: Sequence[Covered],
        at: Sequence[int],
    ) -> Iterator[str]:
        """The pane's head, and the names of its limits: where no curve runs, else in the head, else over curves."""
        middle = place.top - _HEAD_PX / 2
        pieces, legend_end = self._head(pane, mine, middle)
        yield from pieces
        texts = [str(limit.name) for limit in limits]
        levels = [
            Level(float(place.y(np.array([limit.value]))[0]), text_width(text, _NAME))
            for limit, text in zip(limits, texts, strict=True)
        ]
        plot = Box(_AXIS_PX, place.top, _AXIS_PX + self.across, place.top + place.height)
        stood = [self._x(instant) for instant in at]

        def crossed(where: Box) -> bool:
            factor = self.columns.count / self.across
            first, last = (int((x - _AXIS_PX) * factor) for x in (where.left, where.right))
            marked = any(where.left < x < where.right for x in stood)
            return marked or crosses(curves, slice(max(first, 0), last + 1), where.top, where.bottom)

        tall = _NAME * EM_PX
        spots = name_spots(levels, plot, tall, crossed, Head(legend_end, plot.right, _DASH_PX), at_worst=True)
        for text, spot in zip(texts, spots, strict=True):
            if spot is None:
                continue
            y = middle if spot.bottom is None else spot.bottom - _RISE * tall
            if spot.bottom is None:
                left = spot.left - _DASH_PX
                yield self._stroke([(left, middle), (left + 9.0, middle)], self._colour("muted"), 1.0, "4 1")
            yield text_at(text, spot.left, y, self._colour("muted"), size=_NAME)

    def _head(self, pane: Pane, mine: list[Series], y: float) -> tuple[list[str], float]:
        """Title and legend, and where they end."""
        title = f"{pane.title}, {pane.unit}"
        # Left of the plot stand the numbers of the value axis, the highest of them close below.
        pieces = [text_at(title, _AXIS_PX, y, self._colour("text"), size=_SMALL, bold=True)]
        x = _AXIS_PX + text_width(title, _SMALL, bold=True) + 18.0
        for series in mine if len(mine) > 1 else ():
            label = str(series.label)
            pieces.append(self._stroke([(x, y), (x + 14.0, y)], self._colour(series.role), 2.5))
            pieces.append(text_at(label, x + 18.0, y, self._colour("muted"), size=_SMALL))
            x += 18.0 + text_width(label, _SMALL) + 14.0
        return pieces, x

    def _ground(self, place: _Place, ticks: list[Tick]) -> Iterator[str]:
        columns, right = self.columns, _AXIS_PX + self.across
        last = int(columns.time[-1])
        factor = self.across / columns.count
        for each in BandTable(self.source.bands).stretches(columns.start, columns.width, columns.count, last):
            yield element(
                "rect",
                x=_AXIS_PX + each.left * factor,
                y=place.top,
                width=(each.right - each.left) * factor,
                height=place.height,
                fill=mixed_colour(self.theme, each.severity, _BAND_SHARE),
            )
        for tick in ticks:
            if tick.strong:
                x = self._x(tick.at)
                yield self._stroke([(x, place.top), (x, place.top + place.height)], self._colour("line"), 1.0)
        for value, label in place.axis.ticks:
            y = place.y(np.array([value / place.scale]))[0]
            role = "strong_line" if value == 0 and place.axis.low < 0 else "line"
            yield self._stroke([(_AXIS_PX, y), (right, y)], self._colour(role), 1.0)
            yield text_at(label, _AXIS_PX - 6, y, self._colour("muted"), align="right", size=_SMALL)

    def _curve(self, what: Points | Spans, place: _Place, colour: str) -> Iterator[str]:
        factor = self.across / self.columns.count
        if isinstance(what, Points):
            for run in np.split(np.arange(len(what.at)), 1 + np.flatnonzero(~what.joined[:-1])):
                inside = run[(what.at[run] >= 0) & (what.at[run] <= self.columns.count)]
                if len(inside):
                    x, y = _AXIS_PX + what.at[inside] * factor, place.y(what.value[inside])
                    yield self._stroke(list(zip(x.tolist(), y.tolist(), strict=True)), colour, 1.4)
            return
        known = np.isfinite(what.low)
        edges = np.flatnonzero(np.diff(np.concatenate(([False], known, [False])).astype(np.int8)))
        for first, end in edges.reshape(-1, 2).tolist():
            yield self._stroke(self._swept(what, place, first, end, factor), colour, 1.2)

    def _swept(
        self, what: Spans, place: _Place, first: int, end: int, factor: float
    ) -> list[tuple[float, float]]:
        """Up and down through each column: what a pen would leave."""
        x = np.repeat(_AXIS_PX + (np.arange(first, end) + 0.5) * factor, 2)
        low, high = place.y(what.low[first:end]), place.y(what.high[first:end])
        turned = np.arange(end - first) % 2 == 1
        pairs = np.stack([np.where(turned, high, low), np.where(turned, low, high)], axis=1)
        return list(zip(x.tolist(), pairs.ravel().tolist(), strict=True))

    def _times(self, ticks: list[Tick], y: float) -> Iterator[str]:
        for tick in ticks:
            x = self._x(tick.at)
            half = text_width(tick.label, _SMALL) / 2
            x = min(max(x, half), _AXIS_PX + self.across + _RIGHT_PX - half)
            yield text_at(tick.label, x, y, self._colour("muted"), align="centre", size=_SMALL)
        zone = self.source.zone
        day = day_label(max(self.columns.start, int(self.columns.time[0])), zone)
        yield text_at(
            f"{day} ({tr(str(zone))})", _AXIS_PX, y + 1.2 * EM_PX, self._colour("muted"), size=_SMALL
        )


@dataclass(frozen=True, slots=True)
class _Place:
    """A pane's plot: values in SI to pixels. What lies below a shelved axis lies on its lowest line."""

    axis: ValueAxis
    scale: float
    top: float
    height: float

    def y(self, values: np.ndarray) -> np.ndarray:
        share = (values * self.scale - self.axis.low) / (self.axis.high - self.axis.low)
        place: np.ndarray = self.top + self.height * (1 - np.clip(share, 0.0, 1.0))
        return place
