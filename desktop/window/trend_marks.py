"""The shapes of severities: a triangle, a diamond, a disc. They are told apart without their colours."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPolygonF

from desktop.diagnosis.finding import Severity


def draw_mark(painter: QPainter, centre: QPointF, size: float, severity: Severity, colour: QColor) -> None:
    """A severity's shape of `size` pixels across, filled."""
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
        painter.drawEllipse(QRectF(x - half * 0.8, y - half * 0.8, size * 0.8, size * 0.8))
    painter.restore()
