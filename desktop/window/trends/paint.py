"""The still part of a trend view: all that changes only when the window of time, the data or the size does."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QFont, QFontMetrics, QImage, QPainter, QPen

from desktop.picture.axes import Tick, time_ticks
from desktop.picture.trends.bands import BandTable, Mark
from desktop.picture.trends.columns import Columns, Points, Spans
from desktop.picture.trends.source import LimitLine, Series, TrendSource
from desktop.picture.trends.store import LevelStore
from desktop.picture.trends.value_axis import ValueAxis, value_axis
from desktop.picture.trends.window import TimeWindow
from desktop.window.parts.severity_shapes import draw_mark
from desktop.window.trends.colours import TrendColours
from desktop.window.trends.curves import CurvePainter, Scale
from desktop.window.trends.layout import PaneBox, TrendLayout

_BAND_SHARE = 0.16
_MEASURED_SHARE = 0.5
_MARK_SIZE = 9.0
_MOST_LINES = 4


@dataclass(frozen=True, slots=True)
class Scene:
    """All that a frame is drawn from.

    ratio   device pixels per pixel of the widget
    hidden  the instant after which nothing is shown (UTC nanoseconds); None: everything is
    """

    store: LevelStore
    shown: list[Series]
    bands: BandTable
    window: TimeWindow
    layout: TrendLayout
    size: QSize
    ratio: float
    colours: TrendColours
    font: QFont
    hidden: int | None = None

    def shelf(self, ratio: float = 1.0) -> float:
        """Height of the shelf below a pane's axis, in pixels."""
        return round(QFontMetrics(self.font).height() * 0.5 * ratio)

    def limits(self, pane: str) -> list[LimitLine]:
        """The limit lines of a pane."""
        return [limit for limit in self.store.source.limits if limit.pane == pane]


Covered = tuple[np.ndarray, np.ndarray]
"""(count,) the topmost and the lowest pixel that a curve covers in each column; NaN where there is none."""


@dataclass(slots=True)
class Frame:
    """One drawing of the still part, and what was found on the way."""

    scene: Scene
    image: QImage
    columns: Columns
    ticks: list[Tick]
    axes: dict[str, ValueAxis] = field(default_factory=dict)
    marks: list[Mark] = field(default_factory=list)
    covered: dict[str, list[Covered]] = field(default_factory=dict)
    caption_ends: dict[str, float] = field(default_factory=dict)
    time_labels: list[QRectF] = field(default_factory=list)

    def x_of(self, instant: int) -> float:
        """Where an instant lies, in the widget's coordinates."""
        return self.scene.layout.left + float(self.columns.at(instant)) / self.scene.ratio

    def instant_at(self, x: float) -> int:
        """The instant at a place, UTC nanoseconds."""
        return self.columns.start + round(
            (x - self.scene.layout.left) * self.scene.ratio * self.columns.width
        )


class TrendPainter:
    """Draws frames. It keeps nothing but buffers: a frame follows from its scene."""

    def __init__(self) -> None:
        self._curves = CurvePainter()

    def frame(self, scene: Scene) -> Frame:
        """Curves, bands, gaps, limits and lines; `trend_words` adds what is written."""
        frame = _empty(scene)
        painter = QPainter(frame.image)
        _bands(painter, frame)
        for box in scene.layout.panes:
            self._pane(painter, frame, box)
        painter.end()
        frame.image.setDevicePixelRatio(scene.ratio)
        return frame

    def _pane(self, painter: QPainter, frame: Frame, box: PaneBox) -> None:
        scene, key = frame.scene, box.pane.key
        mine = [series for series in scene.shown if series.pane == key]
        drawn = {series.key: scene.store.drawn(series, frame.columns) for series in mine}
        limits = [limit.value for limit in scene.limits(key)]
        lines = box.plot.height() // (2 * QFontMetrics(scene.font).height())
        axis = value_axis(box.pane, drawn.values(), limits, min(max(2, lines), _MOST_LINES))
        frame.axes[key] = axis
        plot = _device(box.plot, scene.ratio)
        scale = pane_scale(plot, axis, scene.shelf(scene.ratio), 1.0)
        _grid(painter, frame, plot, axis, scale)
        scale = pane_scale(plot, axis, scene.shelf(scene.ratio), box.pane.scale)
        _limit_lines(painter, frame, plot, scale, limits)
        frame.covered[key] = [_covered(what, frame.columns.count, scale) for what in drawn.values()]
        painter.setClipRect(plot)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        # Readings lie beneath reconciled values, and bulky curves beneath slender ones.
        for series in sorted(mine, key=lambda each: (each.kind == "reconciled", -_bulk(drawn[each.key]))):
            self._curve(painter, frame, plot.left(), drawn[series.key], scale, series, has_twin(series, mine))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.setClipping(False)

    def _curve(
        self,
        painter: QPainter,
        frame: Frame,
        left: int,
        what: Points | Spans,
        scale: Scale,
        series: Series,
        behind: bool,
    ) -> None:
        colours, ratio = frame.scene.colours, frame.scene.ratio
        colour = colours.mixed(series.role, _MEASURED_SHARE) if behind else colours(series.role)
        width = ratio * (1.0 if behind else 1.5)
        if isinstance(what, Points):
            self._curves.points(painter, left, what, scale, colour, width)
        else:
            self._curves.spans(painter, left, what, scale, colour, width)


def pane_scale(plot: QRect, axis: ValueAxis, shelf: float, scale: float) -> Scale:
    """From a pane's values × scale to pixels within its plot; `shelf` is the height of a shelf, if it has one."""
    below = shelf if axis.shelf else 0.0
    return Scale(axis.low, axis.high, plot.top() + 1, plot.bottom() - 1 - below, scale, below)


def draw_marks(painter: QPainter, frame: Frame) -> None:
    """The shapes of the findings in the lane above the panes."""
    layout, ratio = frame.scene.layout, frame.scene.ratio
    for mark in frame.marks:
        place = QPointF(layout.left + mark.at / ratio, layout.lane.center().y() + 0.5)
        draw_mark(painter, place, _MARK_SIZE, mark.severity, frame.scene.colours(mark.severity))


def _empty(scene: Scene) -> Frame:
    source, layout, window = scene.store.source, scene.layout, scene.window
    image = QImage(scene.size * scene.ratio, QImage.Format.Format_RGB32)
    image.fill(scene.colours("ground"))
    count = max(1, round(layout.width * scene.ratio))
    time, gaps = _seen(source, scene.hidden)
    columns = Columns(time, window.start, window.stop, count, source.bridge, gaps)
    spacing = QFontMetrics(scene.font).horizontalAdvance("00:00:00") * 1.35
    ticks = time_ticks(columns.start, columns.stop, max(1, int(layout.width / spacing)), source.zone)
    return Frame(scene, image, columns, ticks)


def _seen(source: TrendSource, hidden: int | None) -> tuple[np.ndarray, np.ndarray]:
    """The times and gaps that may be shown."""
    if hidden is None:
        return source.time, source.gaps
    time = source.time[: int(np.searchsorted(source.time, hidden, side="right"))]
    return time, source.gaps[: int(np.searchsorted(source.gaps[:, 1], hidden, side="right"))]


def _bands(painter: QPainter, frame: Frame) -> None:
    columns, scene = frame.columns, frame.scene
    last = int(columns.time[-1]) if len(columns.time) else columns.stop
    where = (columns.start, columns.width, columns.count)
    stretches = scene.bands.stretches(*where, last, 2 * scene.ratio)
    frame.marks = scene.bands.marks(*where, (_MARK_SIZE + 2) * scene.ratio)
    row = np.full(columns.count, scene.colours("ground").rgb(), np.uint32)
    for each in stretches:
        row[max(0, round(each.left)) : round(each.right)] = scene.colours.mixed(
            each.severity, _BAND_SHARE
        ).rgb()
    # One row stretched over a pane: hundreds of bands then cost what one does.
    strip = QImage(row.data, columns.count, 1, 4 * columns.count, QImage.Format.Format_RGB32)
    for box in scene.layout.panes:
        plot = _device(box.plot, scene.ratio)
        if stretches:
            painter.drawImage(plot, strip)
        painter.setClipRect(plot)
        _gap_hatch(painter, frame, plot)
        _veil(painter, frame, plot)
        painter.setClipping(False)


def _gap_hatch(painter: QPainter, frame: Frame, plot: QRect) -> None:
    columns = frame.columns
    if not len(columns.gaps):
        return
    begin, end = columns.at(columns.gaps[:, 0]), columns.at(columns.gaps[:, 1])
    wide = (end > 0) & (begin < columns.count) & (end - begin >= 3 * frame.scene.ratio)
    hatch = QBrush(frame.scene.colours("line"), Qt.BrushStyle.BDiagPattern)
    for a, b in zip(np.maximum(begin[wide], 0), np.minimum(end[wide], columns.count), strict=True):
        painter.fillRect(QRectF(plot.left() + a, plot.top(), b - a, plot.height()), hatch)


def _veil(painter: QPainter, frame: Frame, plot: QRect) -> None:
    """What isn't to be seen yet."""
    scene = frame.scene
    if scene.hidden is not None:
        left = plot.left() + max(0.0, float(frame.columns.at(scene.hidden)) + scene.ratio)
        rest = QRectF(left, plot.top(), plot.right() + 1 - left, plot.height())
        painter.fillRect(rest, QBrush(scene.colours("line"), Qt.BrushStyle.Dense6Pattern))


def _grid(painter: QPainter, frame: Frame, plot: QRect, axis: ValueAxis, scale: Scale) -> None:
    colours, thick = frame.scene.colours, max(1, round(frame.scene.ratio))
    for tick in frame.ticks:
        if tick.strong:
            x = plot.left() + round(float(frame.columns.at(tick.at)))
            painter.fillRect(QRect(x, plot.top(), thick, plot.height()), colours("line"))
    for value, _ in axis.ticks:
        role = "strong_line" if value == 0 and axis.low < 0 else "line"
        y = round(float(scale(np.array(value))))
        painter.fillRect(QRect(plot.left(), y, plot.width(), thick), colours(role))


def _limit_lines(painter: QPainter, frame: Frame, plot: QRect, scale: Scale, limits: list[float]) -> None:
    pen = QPen(frame.scene.colours("muted"), max(1.0, frame.scene.ratio))
    pen.setDashPattern([4.0, 3.0])
    painter.setPen(pen)
    for value in limits:
        y = round(float(scale(np.array(value)))) + 0.5
        painter.drawLine(QPointF(plot.left(), y), QPointF(plot.right() + 1, y))


def has_twin(series: Series, mine: list[Series]) -> bool:
    """True for a reading whose reconciled value is drawn as well."""
    return series.kind == "measured" and any(
        other.role == series.role and other.kind == "reconciled" for other in mine
    )


def _device(rect: QRect, ratio: float) -> QRect:
    left, top = round(rect.left() * ratio), round(rect.top() * ratio)
    return QRect(left, top, round(rect.width() * ratio), round(rect.height() * ratio))


def _covered(what: Points | Spans, count: int, scale: Scale) -> Covered:
    if isinstance(what, Spans):
        return scale(what.high), scale(what.low)
    if not len(what.at):
        return np.full(count, np.nan), np.full(count, np.nan)
    between = scale(np.interp(np.arange(count) + 0.5, what.at, what.value))
    return between, between


def _bulk(what: Points | Spans) -> float:
    return float(np.nansum(what.high - what.low)) if isinstance(what, Spans) else 0.0
