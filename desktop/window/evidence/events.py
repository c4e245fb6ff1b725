"""The events of a chain, one below the other on a line of time; each leads to its instant."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from desktop.diagnosis.causes.chain import Link
from desktop.window.parts.text import Text
from desktop.window.parts.times import Times
from desktop.window.style import theme
from desktop.words import Phrase, kept_together

_RAIL = 22
_DOT = 4.5
_QUANTITIES = {"s": "time"}


class EventList(QWidget):
    """All events of a chain.

    moved  the user wants to go to an instant (int, UTC nanoseconds)
    """

    moved = Signal(object)

    def __init__(self, links: tuple[Link, ...], times: Times) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        self.rows = [
            _Event(link, times, number == 0, number == len(links) - 1) for number, link in enumerate(links)
        ]
        for row in self.rows:
            row.chosen.connect(self.moved)
            column.addWidget(row)
        for name in ("button", "number"):
            parts = [getattr(row, name) for row in self.rows]
            widest = max((part.sizeHint().width() for part in parts), default=0)
            for part in parts:
                part.setMinimumWidth(widest)


class _Event(QWidget):
    chosen = Signal(object)

    def __init__(self, link: Link, times: Times, first: bool, last: bool) -> None:
        super().__init__()
        self.link = link
        self._first, self._last = first, last
        words = kept_together(str(link.text))
        self.button = QPushButton(times.clock(link.time))
        self.button.setAccessibleName(
            str(Phrase("{time}: {event} Go there.", time=times.clock(link.time), event=words))
        )
        self.button.clicked.connect(lambda: self.chosen.emit(link.time))
        self.number = Text(_amount(link), bold=True)
        self.number.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.text = Text(words, wrap=True)
        row = QHBoxLayout(self)
        row.setContentsMargins(_RAIL, 3, 0, 3)
        row.setSpacing(12)
        row.addWidget(self.button, 0, Qt.AlignmentFlag.AlignVCenter)
        row.addWidget(self.number, 0, Qt.AlignmentFlag.AlignVCenter)
        row.addWidget(self.text, 1, Qt.AlignmentFlag.AlignVCenter)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def sizeHint(self) -> QSize:
        """As its words need."""
        return self.layout().sizeHint()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """The whole row is a button for the mouse."""
        if event.button() == Qt.MouseButton.LeftButton and self.rect().contains(event.position().toPoint()):
            self.chosen.emit(self.link.time)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The line of time, and the event on it."""
        painter = QPainter(self)
        middle = self.height() / 2
        top, bottom = middle if self._first else 0.0, middle if self._last else float(self.height())
        painter.fillRect(QRectF(_RAIL / 2 - 1, top, 2, bottom - top), theme.colour("strong_line"))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.colour("text"))
        painter.drawEllipse(QPointF(_RAIL / 2, middle), _DOT, _DOT)


def _amount(link: Link) -> str:
    if not math.isfinite(link.value) or not link.unit:
        return ""
    return str(Phrase(f"{{value:{_QUANTITIES.get(link.unit, link.unit)}}}", value=link.value))
