"""The window of the procedure: what is to be done now on a card, and all steps in a list."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import (
    QAction,
    QGuiApplication,
    QKeyEvent,
    QKeySequence,
    QResizeEvent,
    QShortcut,
    QShowEvent,
)
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QMenu,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desktop.procedure.as_text import Line, lines_of, text_of
from desktop.procedure.course import Standing
from desktop.window.parts.scrolled import comfortable
from desktop.window.parts.text import Text
from desktop.window.procedure.body import Body
from desktop.window.procedure.printing import ask_and_print
from desktop.words import Phrase, tr

_LARGE = (1.75, 1.3)
_USUAL = (1.0, 1.0)
"""Sizes of the card's words and of the list's."""


class ProcedureDialog(QDialog):
    """Shows how the procedure stands.

    ticked        a person ticks a step, or takes the tick back (key)
    connected     a person says that the cable was connected before the line was live
    anew_asked    a person begins another charge
    back_asked    what was said last wasn't meant
    zoom_asked    larger or smaller text, by steps
    """

    ticked = Signal(str)
    connected = Signal()
    anew_asked = Signal()
    back_asked = Signal()
    zoom_asked = Signal(int)

    def __init__(
        self, standing: Standing, times: Callable[[int], str], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._standing, self._times, self._heading, self._back = standing, times, "", ""
        self._foremost, self._urgent = "", False
        self.large = False
        self.setWindowTitle(tr("Procedure: charging by generator"))
        self.setWindowFlag(Qt.WindowType.WindowMaximizeButtonHint, True)
        self.belongs = Text(tone="muted", wrap=True)
        self.body = self._made_body()
        self._buttons()
        self._keys()
        self._column = QVBoxLayout(self)
        self._column.setSpacing(8)
        self._column.addWidget(self.belongs)
        self._column.addWidget(self.body, 1)
        self._column.addWidget(self.buttons)
        self.resize(comfortable(self, 520, 860))

    def show_standing(
        self, standing: Standing, times: Callable[[int], str], heading: str, back: str = ""
    ) -> None:
        """Show how it stands.

        times    gives an instant as text
        heading  what recording it follows, and when; or that it follows none
        back     what can be taken back; empty where there is nothing
        """
        self._standing, self._times, self._heading, self._back = standing, times, heading, back
        self.body.show_standing(standing, times, back)
        self.belongs.show_text(heading)
        key, urgent = standing.foremost, standing.alarm is not None
        if (key, urgent) != (self._foremost, self._urgent):
            self._foremost, self._urgent = key, urgent
            self.body.list.reveal(key, urgent=urgent)

    def set_large(self, large: bool) -> None:
        """Words that can be read at arm's length, on the whole screen; or those of a list beside the window."""
        if large == self.large:
            return
        self.large = large
        self.large_button.setText(tr("&Usual size") if large else tr("&Large"))
        old, self.body = self.body, self._made_body()
        self._column.replaceWidget(old, self.body)
        self._column.setStretchFactor(self.body, 1)
        old.hide()
        old.deleteLater()
        if large:
            self.showMaximized()
        else:
            self.showNormal()
        self.activateWindow()
        self.show_standing(self._standing, self._times, self._heading, self._back)
        QTimer.singleShot(0, self, self._begin)

    def lines(self) -> list[Line]:
        """What is shown, as lines."""
        return lines_of(self._standing, self._times, self._heading)

    def copy(self) -> None:
        """Put it on the clipboard."""
        QGuiApplication.clipboard().setText(text_of(self.lines()))

    def print_list(self) -> None:
        """Ask for a printer, and print it."""
        ask_and_print(self.lines(), self)

    def showEvent(self, event: QShowEvent) -> None:
        """Words have their places only now; keys begin at the large button."""
        super().showEvent(event)
        QTimer.singleShot(0, self, self._begin)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The list beside the card where there is room."""
        super().resizeEvent(event)
        self._turn()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """The return key belongs to the button that has the focus, and to none where none has it."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            focused = self.focusWidget()
            if isinstance(focused, QPushButton):
                focused.click()
            return
        super().keyPressEvent(event)

    def _begin(self) -> None:
        self.body.list.reveal(self._foremost, urgent=True)
        self.body.take_focus()

    def _turn(self) -> None:
        self.body.turn(beside=self.width() > 1.15 * self.height())

    def _made_body(self) -> Body:
        body = Body(self._standing, self._times, _LARGE if self.large else _USUAL)
        body.main.ticked.connect(self.ticked)
        body.main.connected.connect(self.connected)
        body.main.anew.connect(self.anew_asked)
        body.list.ticked.connect(self.ticked)
        body.back.clicked.connect(self.back_asked)
        return body

    def _buttons(self) -> None:
        roles = QDialogButtonBox.ButtonRole
        self.buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        self.buttons.button(QDialogButtonBox.StandardButton.Close).setText(tr("Close"))
        self.large_button = self.buttons.addButton(tr("&Large"), roles.ActionRole)
        self.large_button.clicked.connect(lambda: self.set_large(not self.large))
        self.more_button = self.buttons.addButton(tr("&More"), roles.ActionRole)
        self.more_button.setMenu(self._more())
        self.buttons.rejected.connect(self.reject)
        for button in self.buttons.buttons():
            button.setAutoDefault(False)

    def _more(self) -> QMenu:
        menu = QMenu(self)
        keys = QKeySequence.StandardKey
        self._add(menu, tr("&Begin anew"), self.anew_asked.emit, QKeySequence("Ctrl+N"))
        self._add(menu, tr("&Copy as text"), self.copy, QKeySequence(keys.Copy))
        self._add(menu, tr("&Print…"), self.print_list, QKeySequence(keys.Print))
        return menu

    def _add(self, menu: QMenu, label: str, act: Callable[[], object], key: QKeySequence) -> QAction:
        action = menu.addAction(label)
        action.setShortcut(key)
        action.triggered.connect(lambda _: act())
        # A menu of a button has its keys only while it is open.
        self.addAction(action)
        return action

    def _keys(self) -> None:
        keys = QKeySequence.StandardKey
        for key, steps in ((keys.ZoomIn, 1), (keys.ZoomOut, -1)):
            for sequence in QKeySequence.keyBindings(key):
                QShortcut(sequence, self, lambda steps=steps: self.zoom_asked.emit(steps))
        QShortcut(QKeySequence("Ctrl+L"), self, self.large_button.click)


def belonging(name: str, at: str) -> str:
    """What the list follows."""
    return str(Phrase("Follows {name} at {time}.", name=name, time=at))
