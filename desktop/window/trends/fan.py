"""Draws the fan of a forecast into a pane: a band that eight of ten courses keep to, and its dashed median."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from desktop.charging.forecast.forecast import Fan
from desktop.picture.trends.covered import Covered
from desktop.window.trends.curves import Scale
from desktop.window.trends.frame import Frame, pane_scale
from desktop.window.trends.layout import PaneBox
from desktop.words import tr

FAN_PANE, _ROLE = "soc", "battery"
_SHARE = 0.22
_SWATCH = 12


def fan_covers(frame: Frame, box: PaneBox, fan: Fan) -> Covered:
    """The device pixels that a fan covers in each column."""
    columns, ratio = frame.columns, frame.scene.ratio
    at, middles = columns.at(fan.time), np.arange(columns.count) + 0.5
    scale = _scale(frame, box)
    top, bottom = (
        np.interp(middles, at, ratio * scale(each), left=np.nan, right=np.nan) for each in (fan.high, fan.low)
    )
    return top, bottom


def draw_fan(painter: QPainter, frame: Frame, box: PaneBox, fan: Fan) -> None:
    """The fan, in the pane of the state of charge."""
    scale = _scale(frame, box)
    x = [frame.x_of(int(instant)) for instant in fan.time]
    low, middle, high = (
        [QPointF(a, float(b)) for a, b in zip(x, scale(np.asarray(each)), strict=True)]
        for each in (fan.low, fan.middle, fan.high)
    )
    colour = frame.scene.colours(_ROLE)
    painter.save()
    painter.setClipRect(box.plot)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    ground = QColor(colour)
    ground.setAlphaF(_SHARE)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(ground)
    painter.drawPolygon(QPolygonF(high + low[::-1]))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    pen = QPen(frame.scene.colours("text"), 1.4)
    pen.setDashPattern([4.0, 3.0])
    painter.setPen(pen)
    painter.drawPolyline(QPolygonF(middle))
    edge = QPen(colour, 1.0, Qt.PenStyle.DotLine)
    painter.setPen(edge)
    painter.drawPolyline(QPolygonF(low))
    painter.drawPolyline(QPolygonF(high))
    painter.restore()


def draw_fan_name(painter: QPainter, frame: Frame, box: PaneBox, at: float) -> None:
    """What the fan is, in the pane's legend behind its curves (which end `at`), where it has room."""
    metrics, words = painter.fontMetrics(), tr("forecast")
    if at + _SWATCH + 5 + metrics.horizontalAdvance(words) > frame.caption_ends[FAN_PANE]:
        return
    for dash in (0, 7):
        swatch = QRectF(at + dash, box.caption.center().y() - 1, 5, 2)
        painter.fillRect(swatch, frame.scene.colours("text"))
    painter.setPen(frame.scene.colours("muted"))
    painter.drawText(QPointF(at + _SWATCH + 5, box.caption.top() + metrics.ascent() + 1), words)


def _scale(frame: Frame, box: PaneBox) -> Scale:
    return pane_scale(box.plot, frame.axes[FAN_PANE], frame.scene.shelf(), box.pane.scale)
