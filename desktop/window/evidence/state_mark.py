"""What came out of a check, as a shape: a tick, a cross, a dashed ring."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from desktop.diagnosis.settings_check.check import State
from desktop.window.style import theme

TONES: dict[State, str] = {"pass": "text", "fail": "attend", "unknown": "muted"}


class StateMark(QWidget):
    """Shows a state, as large as its font is high."""

    def __init__(self, state: State) -> None:
        super().__init__()
        self.state = state
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        """A square."""
        side = round(self.fontMetrics().ascent() * 1.2)
        return QSize(side, side)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The shape."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        side = float(min(self.width(), self.height()))
        pen = QPen(theme.colour(TONES[self.state]), max(2.0, side / 7))
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        if self.state == "unknown":
            pen.setDashPattern([1.0, 1.8])
            painter.setPen(pen)
            painter.drawEllipse(QPointF(side / 2, side / 2), side * 0.34, side * 0.34)
            return
        painter.setPen(pen)
        if self.state == "pass":
            corners = [(0.16, 0.55), (0.40, 0.80), (0.86, 0.22)]
            painter.drawPolyline([QPointF(x * side, y * side) for x, y in corners])
            return
        for start, stop in (((0.2, 0.2), (0.8, 0.8)), ((0.8, 0.2), (0.2, 0.8))):
            painter.drawLine(QPointF(*start) * side, QPointF(*stop) * side)
