"""The shapes of what a source is doing, told apart without colour.

A disc reads, an open ring connects, an hourglass waits, a closed ring is stale, a square has ended.
"""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from desktop.window.style import theme

_OPEN = 60 * 16
"""The part of a ring that is left open, in sixteenths of a degree."""


def draw_state(painter: QPainter, box: QRectF, phase: str, colour: QColor) -> None:
    """A phase's shape in a box."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    if phase == "reading":
        painter.drawEllipse(box.adjusted(1, 1, -1, -1))
    elif phase in ("connecting", "stale"):
        thick = max(1.6, 0.2 * box.width())
        painter.setPen(QPen(colour, thick, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        half = thick / 2 + 0.5
        gap = _OPEN if phase == "connecting" else 0
        painter.drawArc(box.adjusted(half, half, -half, -half), gap // 2, 360 * 16 - gap)
    elif phase == "waiting":
        middle = box.center()
        for y in (box.top(), box.bottom()):
            corners = [QPointF(box.left() + 1, y), QPointF(box.right() - 1, y), middle]
            painter.drawPolygon(QPolygonF(corners))
    else:
        painter.drawRect(box.adjusted(1.5, 1.5, -1.5, -1.5))
    painter.restore()


class StateMark(QWidget):
    """Shows a phase as high as its font's letters."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._phase, self._tone = "connecting", "muted"
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def show_phase(self, phase: str, tone: str) -> None:
        """Show this one in a colour of the theme."""
        if (phase, tone) != (self._phase, self._tone):
            self._phase, self._tone = phase, tone
            self.update()

    def sizeHint(self) -> QSize:
        """A square."""
        side = self.fontMetrics().ascent()
        return QSize(side, side)

    def changeEvent(self, event: QEvent) -> None:
        """Another font: another size."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.updateGeometry()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The shape."""
        draw_state(QPainter(self), QRectF(self.rect()), self._phase, theme.colour(self._tone))
