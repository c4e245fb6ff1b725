"""A column of fields that is scrolled up and down, and as wide as its fields wherever the screen allows it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QApplication, QFrame, QScrollArea, QStyle, QVBoxLayout, QWidget

from desktop.window.parts.page import Page

_LEAST_LINES = 4
_WIDEST = 0.7
"""The share of the screen that it may take by itself; where fields are wider, it is scrolled sideways too."""


class Scrolled(QScrollArea):
    """Holds a widget; what gets the focus is scrolled to.

    name  what a screen reader calls it where there are words in it beside the fields: then the focus comes to it
          too, and the arrow keys scroll it
    """

    spoken_role = QAccessible.Role.Grouping

    def __init__(self, inside: QWidget, name: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        page = Page()
        column = QVBoxLayout(page)
        column.setContentsMargins(8, 0, 8, 0)
        column.addWidget(inside)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus if name else Qt.FocusPolicy.NoFocus)
        self.setAccessibleName(name)
        self.setWidget(page)
        page.installEventFilter(self)
        QApplication.instance().focusChanged.connect(self._follow)

    def minimumSizeHint(self) -> QSize:
        """As wide as the fields, and some lines high."""
        return QSize(self._needed(), self.fontMetrics().lineSpacing() * _LEAST_LINES)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The fields need other room."""
        if watched is self.widget() and event.type() == QEvent.Type.LayoutRequest:
            self.setMinimumWidth(self._needed())
        return super().eventFilter(watched, event)

    def _needed(self) -> int:
        beside = self.style().pixelMetric(QStyle.PixelMetric.PM_ScrollBarExtent) + 2
        most = round(self.screen().availableSize().width() * _WIDEST)
        return min(self.widget().minimumSizeHint().width() + beside, most)

    def _follow(self, _: QWidget | None, now: QWidget | None) -> None:
        if now is not None and self.isAncestorOf(now) and self.isVisible():
            self.ensureWidgetVisible(now, 8, 8)


def comfortable(window: QWidget, width: int, height: int) -> QSize:
    """A window's size for the text that there is, given its size for usual text; never beyond the screen."""
    usual = 16
    scale = max(1.0, window.fontMetrics().lineSpacing() / usual)
    room = window.screen().availableSize()
    return QSize(min(round(width * scale), room.width() - 32), min(round(height * scale), room.height() - 48))
