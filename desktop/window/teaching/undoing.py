"""Undo and redo by key, for everything in a dialog together."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QEvent, QObject, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QWidget


class UndoKeys(QObject):
    """Fields know only what was typed in themselves: their keys for it are taken here, before they see them.

    undo, redo  the key was pressed
    """

    undo = Signal()
    redo = Signal()

    def __init__(self, dialog: QWidget) -> None:
        super().__init__(dialog)
        dialog.installEventFilter(self)

    def watch(self, fields: Iterable[QWidget]) -> None:
        """Take them in these fields too."""
        for field in fields:
            field.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """A key is pressed in a field, or in the dialog itself."""
        if event.type() not in (QEvent.Type.KeyPress, QEvent.Type.ShortcutOverride):
            return False
        keys = QKeySequence.StandardKey
        for key, signal in ((keys.Undo, self.undo), (keys.Redo, self.redo)):
            if isinstance(event, QKeyEvent) and event.matches(key):
                event.accept()
                if event.type() == QEvent.Type.KeyPress:
                    signal.emit()
                return True
        return False
