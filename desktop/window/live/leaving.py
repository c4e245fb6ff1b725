"""Asks before watching ends, and a recording with it: something takes its place, or the window is closed."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QMessageBox, QWidget

from desktop.window.live.watching import Watching
from desktop.words import Phrase, template, tr

_TOLD = {
    (True, True): template("{name} is being watched and recorded. Closing the window ends both."),
    (True, False): template("{name} is being watched and recorded. Opening something else ends both."),
    (False, True): template("{name} is being watched. Closing the window ends that."),
    (False, False): template("{name} is being watched. Opening something else ends that."),
}


class LeaveBox(QMessageBox):
    """The question. `asked` is done where the user agrees; it keeps no event loop of its own.

    closes  the window is to be closed, nothing else opened
    """

    def __init__(
        self,
        watching: Watching,
        asked: Callable[[], None],
        parent: QWidget | None = None,
        *,
        closes: bool = False,
    ) -> None:
        super().__init__(parent)
        self._asked = asked
        self.setIcon(QMessageBox.Icon.NoIcon)
        self.setWindowTitle(tr("Stop watching?"))
        records = watching.recording_on
        self.setText(str(Phrase(_TOLD[records, closes], name=watching.name)))
        if records:
            self.setInformativeText(tr("What was recorded so far is kept; what comes after is not recorded."))
        self.go_on = self.addButton(tr("Go on watching"), QMessageBox.ButtonRole.RejectRole)
        self.leave = self.addButton(
            tr("Stop and close") if closes else tr("Stop and open"), QMessageBox.ButtonRole.AcceptRole
        )
        self.setDefaultButton(self.go_on)
        self.setEscapeButton(self.go_on)
        self.buttonClicked.connect(self._answered)

    def _answered(self, button: object) -> None:
        if button is self.leave:
            self._asked()
