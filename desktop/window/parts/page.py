"""A page of words that is scrolled."""

from __future__ import annotations

from PySide6.QtCore import QSize
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QWidget


class Page(QWidget):
    """What a scroll area holds: as high as its words get in the width that there is, not in the least one."""

    def minimumSizeHint(self) -> QSize:
        """Any height: it follows from the width."""
        return QSize(super().minimumSizeHint().width(), 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Rows of grids within keep the heights of another width or font unless they are told."""
        super().resizeEvent(event)
        self.layout().invalidate()
        self.layout().activate()
