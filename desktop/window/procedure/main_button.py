"""The one large button of the procedure, and what it does now."""

from __future__ import annotations

from typing import Literal

from PySide6.QtCore import QSize, Signal
from PySide6.QtWidgets import QPushButton, QSizePolicy, QWidget

from desktop.procedure.course import Standing
from desktop.procedure.situation import StepState
from desktop.procedure.step import Step
from desktop.procedure.steps import NUMBER
from desktop.window.style import fonts
from desktop.window.style.look import look
from desktop.words import Phrase, tr

Does = Literal["tick", "overrule", "connected", "anew", "wait"]

_LEAST_HEIGHT = 48
"""For a wet or gloved hand."""
_LINES = 2.2


class LargeButton(QPushButton):
    """With words of a size of its own, as a share of the usual one, and at least so many pixels high."""

    def __init__(self, size: float, least_height: int = _LEAST_HEIGHT, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._size, self._least_height = size, least_height
        self.setAutoDefault(False)
        self._dress()
        look().changed.connect(self._dress)

    def sizeHint(self) -> QSize:
        """High enough to be hit."""
        hint = super().sizeHint()
        return QSize(hint.width(), max(self._least_height, round(_LINES * self.fontMetrics().height())))

    def minimumSizeHint(self) -> QSize:
        """The same."""
        return self.sizeHint()

    def _dress(self) -> None:
        self.setFont(fonts.sized(self._size, bold=True))
        self.updateGeometry()


class MainButton(LargeButton):
    """Ticks the step that comes next, where a person has to say that it is done.

    ticked           the step is done (key)
    connected        the cable was connected before
    anew             the next charge begins
    """

    ticked = Signal(str)
    connected = Signal()
    anew = Signal()

    def __init__(self, size: float, parent: QWidget | None = None) -> None:
        super().__init__(size, parent=parent)
        self._key = ""
        self.does: Does = "wait"
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.clicked.connect(self._pressed)

    def show_standing(self, standing: Standing) -> None:
        """What it does as it stands."""
        following = standing.next
        if standing.held:
            connecting = standing.alarm.key in ("house_end", "source_end")
            self._show("connected" if connecting else "wait")
        elif following is None:
            self._show("anew")
        else:
            self._show(_does(following, alone=not standing.shown), following.step)

    def _show(self, does: Does, step: Step | None = None) -> None:
        self.does, self._key = does, "" if step is None else step.key
        number = NUMBER.get(self._key, 0)
        words = {
            "tick": str(Phrase("&Done: step {number:d}", number=number)),
            "overrule": str(Phrase("&Done all the same: step {number:d}", number=number)),
            "connected": tr("&Connected already"),
            "anew": tr("Begin the &next charge"),
            "wait": tr("Put this right first") if step is None else tr("The readings tick this"),
        }
        if self.text() != words[does]:
            self.setText(words[does])
        self.setEnabled(does != "wait")
        spoken = words[does].replace("&", "")
        told = None if step is None else Phrase("{button}. {step}", button=spoken, step=step.text)
        self.setAccessibleName(spoken if told is None else str(told))

    def _pressed(self) -> None:
        if self.does in ("tick", "overrule"):
            self.ticked.emit(self._key)
        elif self.does == "connected":
            self.connected.emit()
        elif self.does == "anew":
            self.anew.emit()


def _does(following: StepState, *, alone: bool) -> Does:
    """A person's word is asked for where readings don't show the step; where they don't show it yet, it may go
    before them, if a time or level is only usual. `alone`: there are no readings."""
    if alone:
        return "tick"
    if following.state in ("contradicted", "not met", "not now"):
        return "wait"
    if not following.step.by_readings or following.state == "can't tell":
        return "tick"
    return "overrule" if following.step.by_word and following.told else "wait"
