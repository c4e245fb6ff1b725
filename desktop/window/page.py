"""A page of words that is scrolled."""

from __future__ import annotations

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QWidget


class Page(QWidget):
    """What a scroll area holds: as high as its words get in the width that there is, not in the least one."""

    def minimumSizeHint(self) -> QSize:
        """Any height: it follows from the width."""
        return QSize(super().minimumSizeHint().width(), 0)
