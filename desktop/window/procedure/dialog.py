"""The window of the procedure: a list that readings tick where they can, and a person where they can't."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QGuiApplication, QKeySequence, QShortcut, QShowEvent
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QVBoxLayout, QWidget

from desktop.diagnosis.finding import Severity
from desktop.procedure.as_text import Line, lines_of, text_of
from desktop.procedure.course import Standing, headline
from desktop.procedure.situation import StepState
from desktop.procedure.step import PHASES
from desktop.procedure.steps import ALWAYS
from desktop.window.parts.panel import Panel
from desktop.window.parts.scrolled import Scrolled, comfortable
from desktop.window.parts.text import Text
from desktop.window.parts.told import Told
from desktop.window.procedure.printing import ask_and_print
from desktop.window.procedure.row import StepRow
from desktop.words import Phrase, tr


class ProcedureDialog(QDialog):
    """Shows how the procedure stands.

    ticked        a person ticks a step, or takes the tick back (key)
    anew_asked    a person begins another charge
    """

    ticked = Signal(str)
    anew_asked = Signal()

    def __init__(
        self, standing: Standing, times: Callable[[int], str], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._standing, self._times, self._heading = standing, times, ""
        self._foremost = ""
        self.setWindowTitle(tr("Procedure: charging by generator"))
        self.told = Told(1.1)
        self.belongs = Text(tone="muted", wrap=True)
        self.rows: dict[str, StepRow] = {}
        self.list = Scrolled(self._made_list(), tr("Steps of the procedure"))
        self._buttons()
        column = QVBoxLayout(self)
        column.setSpacing(8)
        column.addWidget(self.told)
        column.addWidget(self.belongs)
        column.addWidget(self.list, 1)
        column.addWidget(Text(str(ALWAYS), tone="muted", wrap=True))
        column.addWidget(self.buttons)
        self.resize(comfortable(self, 640, 820))

    def show_standing(self, standing: Standing, times: Callable[[int], str], heading: str) -> None:
        """Show how it stands.

        times    gives an instant as text
        heading  what recording it follows, and when; or that it follows none
        """
        self._standing, self._times, self._heading = standing, times, heading
        following, foremost = standing.next, standing.foremost
        for state in standing.steps:
            key = state.step.key
            is_next = following is not None and key == following.step.key
            self.rows[key].show_state(state, times, is_next=is_next)
        self.told.say(_severity(foremost), str(headline(standing)))
        self.belongs.show_text(heading)
        key = "" if foremost is None else foremost.step.key
        if key != self._foremost:
            self._foremost = key
            self._reveal()

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
        """Words have their places only now; keys begin at the step to look at."""
        super().showEvent(event)
        QTimer.singleShot(0, self, self._begin)

    def _begin(self) -> None:
        self._reveal()
        row = self.rows.get(self._foremost)
        if row is not None:
            row.box.setFocus(Qt.FocusReason.OtherFocusReason)

    def _reveal(self) -> None:
        """Scroll to the step to look at, unless a person is at work on another that isn't done."""
        row = self.rows.get(self._foremost)
        working = any(
            self.rows[each.step.key].box.hasFocus() for each in self._standing.steps if not each.done
        )
        if row is not None and not working:
            self.list.ensureWidgetVisible(row, 8, 60)

    def _made_list(self) -> QWidget:
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        panels: dict[str, Panel] = {}
        for state in self._standing.steps:
            step = state.step
            if step.phase not in panels:
                panels[step.phase] = Panel(tr(PHASES[step.phase]))
                column.addWidget(panels[step.phase])
            row = self.rows[step.key] = StepRow(state, self._times)
            row.asked.connect(self.ticked)
            panels[step.phase].body.addWidget(row)
        return inside

    def _buttons(self) -> None:
        roles = QDialogButtonBox.ButtonRole
        self.buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        self.buttons.button(QDialogButtonBox.StandardButton.Close).setText(tr("Close"))
        self.print_button = self.buttons.addButton(tr("&Print…"), roles.ActionRole)
        self.copy_button = self.buttons.addButton(tr("&Copy as text"), roles.ActionRole)
        self.anew_button = self.buttons.addButton(tr("&Begin anew"), roles.ResetRole)
        self.print_button.clicked.connect(self.print_list)
        self.copy_button.clicked.connect(self.copy)
        self.anew_button.clicked.connect(self.anew_asked)
        self.buttons.rejected.connect(self.reject)
        for button in self.buttons.buttons():
            # The return key belongs to no button here: whoever ticks a step mustn't print by it.
            button.setAutoDefault(False)
        QShortcut(QKeySequence(QKeySequence.StandardKey.Print), self, self.print_list)


def _severity(foremost: StepState | None) -> Severity | None:
    if foremost is None or not foremost.wrong:
        return None
    return "act now" if foremost.state == "contradicted" else "attend"


def belonging(name: str, at: str) -> str:
    """What the list follows."""
    return str(Phrase("Follows {name} at {time}.", name=name, time=at))
