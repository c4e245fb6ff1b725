"""Holds something that may be wider than there is room for: it alone is scrolled sideways."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtGui import QAccessible, QResizeEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QSizePolicy, QStyle, QWidget

_LETTERS = 16


class Sideways(QScrollArea):
    """As high as what it holds, with a bar below where that is wider than it is."""

    spoken_role = QAccessible.Role.Grouping

    def __init__(self, inside: QWidget, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(False)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAccessibleName(name)
        self.viewport().setAutoFillBackground(False)
        self.setWidget(inside)
        inside.setAutoFillBackground(False)
        inside.installEventFilter(self)
        self._fit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """What is held needs other room."""
        if watched is self.widget() and event.type() == QEvent.Type.LayoutRequest:
            self._fit()
        return super().eventFilter(watched, event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """There is other room."""
        super().resizeEvent(event)
        self._fit()

    def sizeHint(self) -> QSize:
        """All of it."""
        return QSize(self.widget().sizeHint().width(), self._height())

    def minimumSizeHint(self) -> QSize:
        """A few letters wide."""
        return QSize(self.fontMetrics().averageCharWidth() * _LETTERS, self._height())

    def _fit(self) -> None:
        self.widget().resize(self.widget().sizeHint())
        wide = self.widget().width() > self.width()
        # Only what can be scrolled wants the keys.
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus if wide else Qt.FocusPolicy.NoFocus)
        self.setFixedHeight(self._height())
        self.updateGeometry()

    def _height(self) -> int:
        bar = self.style().pixelMetric(QStyle.PixelMetric.PM_ScrollBarExtent) + 2
        wide = self.widget().sizeHint().width() > self.width()
        return self.widget().sizeHint().height() + (bar if wide else 0)
