"""The shapes of severities: a triangle, a diamond, a ring. They are told apart without their colours."""

from __future__ import annotations

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from desktop.diagnosis.finding import Severity

_RING = 0.2
"""Thickness of a ring, as a share of its size."""


def draw_mark(painter: QPainter, centre: QPointF, size: float, severity: Severity, colour: QColor) -> None:
    """A severity's shape of `size` pixels across."""
    half = size / 2
    x, y = centre.x(), centre.y()
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    if severity == "act now":
        corners = [QPointF(x, y - half), QPointF(x + half, y + half), QPointF(x - half, y + half)]
        painter.drawPolygon(QPolygonF(corners))
    elif severity == "attend":
        corners = [QPointF(x, y - half), QPointF(x + half, y), QPointF(x, y + half), QPointF(x - half, y)]
        painter.drawPolygon(QPolygonF(corners))
    else:
        thick = max(1.4, _RING * size)
        radius = 0.85 * half - thick / 2
        painter.setPen(QPen(colour, thick))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(centre, radius, radius)
    painter.restore()
