"""Where the procedure opens: at the side of the window, and not over what calls in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, QRect
from PySide6.QtWidgets import QWidget

if TYPE_CHECKING:
    from desktop.window.main import MainWindow

_FRAME, _TITLE = 8, 32
"""What a system puts around a window, and above it, in pixels."""


def beside(window: MainWindow, dialog: QWidget) -> QRect:
    """Place and size on the screen: right of the window or left of it, else over its instruments, below the strip
    and the sentence and beside the limits."""
    screen = window.screen().availableGeometry()
    outer = window.frameGeometry()
    width, height = dialog.width(), dialog.height()
    top = max(screen.top(), min(outer.top(), screen.bottom() - height))
    if outer.right() + width + _FRAME <= screen.right():
        return QRect(outer.right() + _FRAME, top, width, height)
    if outer.left() - width - _FRAME >= screen.left():
        return QRect(outer.left() - width - _FRAME, top, width, height)
    return _within(window, dialog, screen)


def _within(window: MainWindow, dialog: QWidget, screen: QRect) -> QRect:
    columns = window.board.columns
    free = (
        window.rect() if not columns.isVisible() else QRect(columns.mapTo(window, QPoint()), columns.size())
    )
    free = QRect(window.mapToGlobal(free.topLeft()), free.size()) & screen
    width = min(dialog.width(), screen.width() - 2 * _FRAME)
    least = dialog.minimumSizeHint().height()
    height = max(min(dialog.height(), free.height() - _TITLE), min(least, screen.height() - _TITLE))
    right = min(free.right(), screen.right())
    if columns.isVisible():
        # What the list says to be kept within its limits stays in sight.
        left_of_limits = window.board.limits.mapToGlobal(QPoint()).x() - _FRAME
        right = min(right, left_of_limits) if left_of_limits - width >= screen.left() else right
    left = right - width
    top = min(free.top() + _TITLE, screen.bottom() - height)
    return QRect(max(left, screen.left()), max(top, screen.top()), width, height)
