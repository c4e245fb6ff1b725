"""A radio button that can be seen in both themes."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QPointF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QRadioButton

from desktop.window.style import theme
from desktop.window.style.look import look

_ROOM = 6


class RadioMark(QRadioButton):
    """A ring, with a disc in it where it is chosen; its words stand beside it. The style's own is dark on dark."""

    def __init__(self) -> None:
        super().__init__()
        look().changed.connect(self.updateGeometry)

    def sizeHint(self) -> QSize:
        """A little higher than a line of text, and no smaller than can be hit."""
        side = max(self.fontMetrics().height() + _ROOM, 18)
        return QSize(side, side)

    def minimumSizeHint(self) -> QSize:
        """The same."""
        return self.sizeHint()

    def hitButton(self, place: QPoint) -> bool:
        """All of it."""
        return self.rect().contains(place)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Ring, disc, and another ring where it has the focus."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        centre = QPointF(self.width() / 2, self.height() / 2)
        radius = min(self.width(), self.height()) / 2 - 4
        tone = theme.colour("text" if self.isEnabled() else "muted")
        painter.setBrush(theme.colour("field"))
        painter.setPen(QPen(tone if self.isChecked() else theme.colour("muted"), 1.4))
        painter.drawEllipse(centre, radius, radius)
        if self.isChecked():
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(tone)
            painter.drawEllipse(centre, radius * 0.55, radius * 0.55)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(theme.colour("text"), 1.4))
            painter.drawEllipse(centre, radius + 2.6, radius + 2.6)
