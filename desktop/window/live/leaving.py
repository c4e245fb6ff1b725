"""Asks before something takes the place of what is watched: that would end watching, and a recording with it."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QMessageBox, QWidget

from desktop.window.live.watching import Watching
from desktop.words import Phrase, tr


class LeaveBox(QMessageBox):
    """The question. `asked` is done where the user agrees; it keeps no event loop of its own."""

    def __init__(self, watching: Watching, asked: Callable[[], None], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._asked = asked
        self.setIcon(QMessageBox.Icon.NoIcon)
        self.setWindowTitle(tr("Stop watching?"))
        records = watching.recording_on
        told = (
            Phrase(
                "{name} is being watched and recorded. Opening something else ends both.", name=watching.name
            )
            if records
            else Phrase("{name} is being watched. Opening something else ends that.", name=watching.name)
        )
        self.setText(str(told))
        if records:
            self.setInformativeText(tr("What was recorded so far is kept; what comes after is not recorded."))
        self.go_on = self.addButton(tr("Go on watching"), QMessageBox.ButtonRole.RejectRole)
        self.leave = self.addButton(tr("Stop and open"), QMessageBox.ButtonRole.AcceptRole)
        self.setDefaultButton(self.go_on)
        self.setEscapeButton(self.go_on)
        self.buttonClicked.connect(self._answered)

    def _answered(self, button: object) -> None:
        if button is self.leave:
            self._asked()
