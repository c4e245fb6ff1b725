"""A strip that stays in sight while a recording is shown as corrected, with the way back."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from desktop.window.opening import Ready
from desktop.window.parts.panel import Panel
from desktop.window.parts.told import Told
from desktop.words import Phrase, kept_together, tr


class CorrectedStrip(Panel):
    """Says what was put right.

    back_asked  show the recording as it was recorded
    save_asked  write the correction into the site sheet
    """

    back_asked = Signal()
    save_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("", parent)
        self.setAccessibleName(tr("As corrected"))
        self.told = Told(1.0)
        self.save = QPushButton(tr("Save to the site sheet"))
        self.back = QPushButton(tr("Back to as recorded"))
        self.save.clicked.connect(self.save_asked)
        self.back.clicked.connect(self.back_asked)
        row = QHBoxLayout()
        row.setSpacing(10)
        row.addWidget(self.told, 1, Qt.AlignmentFlag.AlignVCenter)
        row.addWidget(self.save)
        row.addWidget(self.back)
        self.body.addLayout(row)
        self.hide()

    def show_ready(self, ready: Ready, writable: bool) -> None:
        """Show what was put right in what is open; nothing is seen where it is as recorded.

        writable  whether its sheet can be written
        """
        self.setVisible(bool(ready.tried))
        if not ready.tried:
            return
        what = " ".join(str(each.text) for each in ready.tried)
        line = (
            Phrase("As corrected: {what}", what=what)
            if writable
            else Phrase("As corrected: {what} The sheet of a demo stays as it is.", what=what)
        )
        self.told.say("attend", kept_together(str(line)))
        self.save.setEnabled(writable)
