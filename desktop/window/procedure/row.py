"""A step of the procedure in the list."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from desktop.diagnosis.finding import Severity
from desktop.procedure.as_text import caution_text, state_text, step_text
from desktop.procedure.situation import StepState
from desktop.procedure.step import Step
from desktop.window.parts.text import Text
from desktop.window.procedure.marks import StepBox
from desktop.window.style import theme
from desktop.words import Phrase

_ROOM = 8


class StepRow(QWidget):
    """Its box, its words. The step that comes next stands on a ground of its own.

    asked  a person ticks it, or takes the tick back (key)
    """

    asked = Signal(str)

    def __init__(
        self,
        state: StepState,
        times: Callable[[int], str],
        size: float = 1.0,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._next = False
        self.box = StepBox(size)
        self.box.asked.connect(lambda: self.asked.emit(state.step.key))
        self.text = Text(step_text(state.step), bold=True, wrap=True, size=size)
        self.standing = Text(wrap=True, size=size)
        self.why = Text(str(state.step.why), tone="muted", wrap=True, size=size)
        self.caution = Text(caution_text(state), wrap=True, size=size)
        self.caution.setVisible(bool(state.step.caution))
        self._lay_out()
        self.show_state(state, times, is_next=False)

    def show_state(
        self,
        state: StepState,
        times: Callable[[int], str],
        severity: Severity | None = None,
        *,
        is_next: bool,
    ) -> None:
        """Show how the step stands.

        times     gives an instant as text
        severity  of what is wrong with it; None where nothing is
        """
        said = state_text(state, times)
        self.box.show_state(state, severity)
        self.box.setAccessibleName(_spoken(state.step, said))
        self.standing.show_text(said)
        self.standing.set_tone(severity or "muted", bold=severity is not None)
        if is_next != self._next:
            self._next = is_next
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The ground of the next step, and a frame while its box has the focus."""
        painter = QPainter(self)
        if self._next:
            painter.fillRect(self.rect(), theme.colour("standing"))
            painter.fillRect(QRectF(0, 0, 3, self.height()), theme.colour("text"))
        if self.box.hasFocus():
            painter.setPen(QPen(theme.colour("text"), 2))
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))

    def _lay_out(self) -> None:
        top = Qt.AlignmentFlag.AlignTop
        words = QVBoxLayout()
        words.setSpacing(2)
        for line in (self.text, self.standing, self.caution, self.why):
            words.addWidget(line)
        row = QHBoxLayout(self)
        row.setContentsMargins(_ROOM, _ROOM - 2, _ROOM, _ROOM - 2)
        row.setSpacing(10)
        row.addWidget(self.box, 0, top)
        row.addLayout(words, 1)


def _spoken(step: Step, said: str) -> str:
    """All that there is to a step, for those who hear it."""
    if step.caution:
        return str(
            Phrase(
                "{step} {said} Caution: {caution} {why}",
                step=step_text(step),
                said=said,
                caution=step.caution,
                why=step.why,
            )
        )
    return str(Phrase("{step} {said} {why}", step=step_text(step), said=said, why=step.why))
