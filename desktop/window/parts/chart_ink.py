"""Draws what a chart is made of within its plot, and the axes beside it."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen, QPolygonF

from desktop.picture.charts.chart import Area, Chart, Curve, Dot, Floats, Shape, Upright
from desktop.window.trends.colours import TrendColours

AREA_SHARE = 0.28
STRETCH_ROLE = "bed"
_DOT = 7.0
_CORNERS = 5


class ChartInk:
    """From a chart's values to pixels of a plot."""

    def __init__(self, chart: Chart, colours: TrendColours, metrics: QFontMetricsF, plot: QRectF) -> None:
        self._chart, self._colours, self._metrics, self._plot = chart, colours, metrics, plot

    @property
    def top(self) -> float:
        """The upper edge of the plot."""
        return self._plot.top()

    def x(self, value: float) -> float:
        """Where a value of the x axis lies."""
        axis, plot = self._chart.x, self._plot
        return plot.left() + (value - axis.low) / (axis.high - axis.low) * plot.width()

    def y(self, value: float) -> float:
        """Where a value of the y axis lies."""
        axis, plot = self._chart.y, self._plot
        return plot.bottom() - (value - axis.low) / (axis.high - axis.low) * plot.height()

    def axes(self, painter: QPainter) -> None:
        """Stretches, lines and what is written beside them."""
        plot, colours = self._plot, self._colours
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        for each in self._chart.stretches:
            left, right = self.x(each.start), self.x(each.stop)
            painter.fillRect(QRectF(left, plot.top(), right - left, plot.height()), colours(STRETCH_ROLE))
        for value, text in self._chart.y.ticks:
            y = round(self.y(value))
            painter.fillRect(QRectF(plot.left(), y, plot.width(), 1), colours("line"))
            left = plot.left() - 8 - self._metrics.horizontalAdvance(text)
            painter.setPen(colours("muted"))
            painter.drawText(QPointF(left, y + self._metrics.capHeight() / 2), text)
        if self._chart.level is not None:
            y = round(self.y(self._chart.level))
            painter.fillRect(QRectF(plot.left(), y, plot.width(), 1), colours("strong_line"))
        self._below(painter)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)

    def _below(self, painter: QPainter) -> None:
        plot, metrics = self._plot, self._metrics
        free = 0.0
        painter.setPen(self._colours("muted"))
        base = plot.bottom() + 5 + metrics.ascent()
        for value, text in self._chart.x.ticks:
            x, wide = self.x(value), metrics.horizontalAdvance(text)
            painter.fillRect(QRectF(round(x), plot.bottom(), 1, 4), self._colours("strong_line"))
            if x - wide / 2 >= free:
                painter.drawText(QPointF(x - wide / 2, base), text)
                free = x + wide / 2 + 8
        name = str(self._chart.x.label)
        left = max(0.0, plot.center().x() - metrics.horizontalAdvance(name) / 2)
        painter.drawText(QPointF(left, base + metrics.height() + 2), name)

    def content(self, painter: QPainter) -> None:
        """Areas, curves and dots, the last ones on top."""
        painter.save()
        painter.setClipRect(self._plot.adjusted(-_DOT, -_DOT, _DOT, _DOT))
        for area in self._chart.areas:
            self._area(painter, area)
        for curve in self._chart.curves:
            self._curve(painter, curve)
        for dot in self._chart.dots:
            self._dot(painter, dot)
        painter.restore()

    def upright(self, painter: QPainter, mark: Upright, top: float) -> None:
        """A mark's line, from a place down."""
        pen = QPen(self._colours(mark.role), 1.0 if mark.dashed else 2.0)
        if mark.dashed:
            pen.setDashPattern([4.0, 3.0])
        painter.setPen(pen)
        x = self.x(mark.x)
        painter.drawLine(QPointF(x, top), QPointF(x, self._plot.bottom()))

    def _area(self, painter: QPainter, area: Area) -> None:
        colour = QColor(self._colours(area.role))
        colour.setAlphaF(AREA_SHARE)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour)
        known = np.isfinite(area.low) & np.isfinite(area.high)
        for part in _runs(known):
            there = self._points(area.x[part], area.high[part])
            back = self._points(area.x[part][::-1], area.low[part][::-1])
            painter.drawPolygon(QPolygonF(there + back))

    def _curve(self, painter: QPainter, curve: Curve) -> None:
        pen = QPen(self._colours(curve.role), 1.8)
        if curve.dashed:
            pen.setDashPattern([4.0, 2.5])
        painter.setPen(pen)
        for part in _runs(np.isfinite(curve.y)):
            painter.drawPolyline(QPolygonF(self._points(curve.x[part], curve.y[part])))

    def _dot(self, painter: QPainter, dot: Dot) -> None:
        x, y = self.x(dot.x), self.y(dot.y)
        painter.setPen(QPen(self._colours.mixed(dot.role, 0.6), 1.0))
        if dot.x_range is not None:
            painter.drawLine(QPointF(self.x(dot.x_range[0]), y), QPointF(self.x(dot.x_range[1]), y))
        if dot.y_range is not None:
            painter.drawLine(QPointF(x, self.y(dot.y_range[0])), QPointF(x, self.y(dot.y_range[1])))
        draw_dot(painter, QPointF(x, y), dot.shape, self._colours(dot.role))

    def _points(self, x: Floats, y: Floats) -> list[QPointF]:
        return [QPointF(self.x(a), self.y(b)) for a, b in zip(x.tolist(), y.tolist(), strict=True)]


def draw_dot(painter: QPainter, centre: QPointF, shape: Shape, colour: QColor) -> None:
    """A dot's shape."""
    half = _DOT / 2
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(colour, 2.0))
    if shape == "cross":
        for way in (1, -1):
            painter.drawLine(centre - QPointF(half, way * half), centre + QPointF(half, way * half))
    elif shape == "ring":
        painter.drawEllipse(centre, half - 0.5, half - 0.5)
    else:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour)
        if shape == "disc":
            painter.drawEllipse(centre, half, half)
        else:
            painter.drawPolygon(QPolygonF(_star(centre, 2.0 * half)))
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _star(centre: QPointF, radius: float) -> list[QPointF]:
    points = []
    for number in range(2 * _CORNERS):
        reach = radius if number % 2 == 0 else radius * 0.45
        angle = math.pi * number / _CORNERS - math.pi / 2
        points.append(centre + QPointF(reach * math.cos(angle), reach * math.sin(angle)))
    return points


def _runs(known: np.ndarray) -> list[slice]:
    """Stretches of True."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], known.astype(np.int8), [0]))))
    return [slice(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
