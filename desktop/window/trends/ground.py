"""What lies beneath the curves: findings as bands, telemetry gaps, grid and limit lines, what isn't to be seen."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QBrush, QImage, QPainter, QPen

from desktop.picture.trends.value_axis import ValueAxis
from desktop.window.trends.curves import Scale
from desktop.window.trends.frame import Frame, device

MARK_SIZE = 9.0
_BAND_SHARE = 0.16


def draw_bands(painter: QPainter, frame: Frame) -> None:
    """Findings, gaps and what is hidden, in all panes; the marks of the findings are found on the way."""
    columns, scene = frame.columns, frame.scene
    last = int(columns.time[-1]) if len(columns.time) else columns.stop
    where = (columns.start, frame.pixel, frame.across)
    stretches = scene.bands.stretches(*where, last, 2 * scene.ratio)
    frame.marks = scene.bands.marks(*where, (MARK_SIZE + 2) * scene.ratio)
    row = np.full(frame.across, scene.colours("ground").rgb(), np.uint32)
    for each in stretches:
        row[max(0, round(each.left)) : round(each.right)] = scene.colours.mixed(
            each.severity, _BAND_SHARE
        ).rgb()
    # One row repeated all over a pane: hundreds of bands then cost what one does.
    strip = QImage(row.data, frame.across, 1, 4 * frame.across, QImage.Format.Format_RGB32)
    for box in scene.layout.panes:
        plot = device(box.plot, scene.ratio)
        if stretches:
            painter.setBrushOrigin(plot.topLeft())
            painter.fillRect(plot, QBrush(strip))
            painter.setBrushOrigin(0, 0)
        painter.setClipRect(plot)
        _gap_hatch(painter, frame, plot)
        _veil(painter, frame, plot)
        painter.setClipping(False)


def draw_grid(painter: QPainter, frame: Frame, plot: QRect, axis: ValueAxis, scale: Scale) -> None:
    """Lines at the days and at the values of an axis."""
    colours, thick = frame.scene.colours, max(1, round(frame.scene.ratio))
    for tick in frame.ticks:
        if tick.strong:
            x = plot.left() + round(float(frame.device_x(tick.at)))
            painter.fillRect(QRect(x, plot.top(), thick, plot.height()), colours("line"))
    for value, _ in axis.ticks:
        role = "strong_line" if value == 0 and axis.low < 0 else "line"
        y = round(float(scale(np.array(value))))
        painter.fillRect(QRect(plot.left(), y, plot.width(), thick), colours(role))


def draw_limit_lines(painter: QPainter, frame: Frame, plot: QRect, scale: Scale, limits: list[float]) -> None:
    """Dashed lines at limits."""
    pen = QPen(frame.scene.colours("muted"), max(1.0, frame.scene.ratio))
    pen.setDashPattern([4.0, 3.0])
    painter.setPen(pen)
    for value in limits:
        y = round(float(scale(np.array(value)))) + 0.5
        painter.drawLine(QPointF(plot.left(), y), QPointF(plot.right() + 1, y))


def _gap_hatch(painter: QPainter, frame: Frame, plot: QRect) -> None:
    columns = frame.columns
    if not len(columns.gaps):
        return
    begin, end = frame.device_x(columns.gaps[:, 0]), frame.device_x(columns.gaps[:, 1])
    wide = (end > 0) & (begin < frame.across) & (end - begin >= 3 * frame.scene.ratio)
    hatch = QBrush(frame.scene.colours("line"), Qt.BrushStyle.BDiagPattern)
    for a, b in zip(np.maximum(begin[wide], 0), np.minimum(end[wide], frame.across), strict=True):
        painter.fillRect(QRectF(plot.left() + a, plot.top(), b - a, plot.height()), hatch)


def _veil(painter: QPainter, frame: Frame, plot: QRect) -> None:
    """What isn't to be seen yet."""
    scene = frame.scene
    if scene.hidden is not None:
        left = plot.left() + max(0.0, float(frame.device_x(scene.hidden)) + scene.ratio)
        rest = QRectF(left, plot.top(), plot.right() + 1 - left, plot.height())
        painter.fillRect(rest, QBrush(scene.colours("line"), Qt.BrushStyle.Dense6Pattern))
