"""A panel: a quiet frame with a title."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from desktop.window import theme
from desktop.window.text import Text

_ROOM = 12


class Panel(QWidget):
    """Holds its content in `body`, below a line with the title and, in `head`, whatever belongs beside it."""

    def __init__(self, title: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.body = QVBoxLayout(self)
        self.body.setContentsMargins(_ROOM, _ROOM - 4, _ROOM, _ROOM - 2)
        self.body.setSpacing(4)
        self.head = QHBoxLayout()
        self.head.setSpacing(6)
        self.title = Text(title.upper(), size=0.92, bold=True, tone="muted")
        self.setAccessibleName(title)
        if title:
            self.head.addWidget(self.title)
            self.body.addLayout(self.head)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Ground and frame."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), theme.colour("ground"))
        painter.setPen(QPen(theme.colour("line"), 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))
