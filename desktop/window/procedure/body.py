"""The card with its large button, and the list: one above the other, or side by side."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QVBoxLayout, QWidget

from desktop.procedure.course import Standing
from desktop.window.parts.scrolled import Scrolled
from desktop.window.procedure.card import Card
from desktop.window.procedure.main_button import LargeButton, MainButton
from desktop.window.procedure.steps_list import StepsList
from desktop.words import tr

_CARD, _LIST = 2, 1
_LOW_CARD, _LOW_LINES = 4, 36
"""Shares of the room, and the card's in a body of fewer lines of text. They don't follow the words: the button
stays in its place under the hand."""
_BACK_HEIGHT = 32


class Body(QWidget):
    """`sizes`: those of the card's words and of the list's, as shares of the usual ones."""

    def __init__(
        self,
        standing: Standing,
        times: Callable[[int], str],
        sizes: tuple[float, float],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._lent = False
        self.card = Card(sizes[0])
        self.scrolled = Scrolled(self.card, tr("What is to be done now"))
        self.main = MainButton(1.3 * sizes[0])
        self.back = LargeButton(sizes[1], _BACK_HEIGHT)
        self.list = StepsList(standing, times, sizes[1])
        left = QVBoxLayout()
        left.setSpacing(8)
        left.addWidget(self.scrolled, 1)
        left.addWidget(self.main)
        left.addWidget(self.back, 0, Qt.AlignmentFlag.AlignLeft)
        self._pair = QBoxLayout(QBoxLayout.Direction.TopToBottom, self)
        self._pair.setContentsMargins(0, 0, 0, 0)
        self._pair.setSpacing(10)
        self._pair.addLayout(left, _CARD)
        self._pair.addWidget(self.list, _LIST)
        self.show_standing(standing, times, "")

    def show_standing(self, standing: Standing, times: Callable[[int], str], back: str) -> None:
        """Show how it stands. `back`: what can be taken back; empty where there is nothing."""
        alarm, had_focus = self.card.banner.told.text(), self.main.hasFocus()
        self.card.show_standing(standing)
        self.main.show_standing(standing)
        self._lend_focus(had_focus=had_focus)
        self.list.show_standing(standing, times)
        self.back.setText(back or tr("Take back"))
        self.back.setEnabled(bool(back))
        if self.card.banner.told.text() != alarm:
            self.scrolled.verticalScrollBar().setValue(0)

    def _lend_focus(self, *, had_focus: bool) -> None:
        """While the button waits, the list has its focus: never the button beside, which takes a tick back."""
        waits = not self.main.isEnabled()
        if had_focus and waits:
            self.list.setFocus(Qt.FocusReason.OtherFocusReason)
            self._lent = True
        elif self._lent and not waits:
            self._lent = False
            if self.list.hasFocus():
                self.main.setFocus(Qt.FocusReason.OtherFocusReason)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Where there is little room, the card needs more of it."""
        super().resizeEvent(event)
        low = self.height() < _LOW_LINES * self.fontMetrics().lineSpacing()
        self._pair.setStretch(0, _LOW_CARD if low else _CARD)

    def turn(self, *, beside: bool) -> None:
        """The list beside the card, or below it."""
        way = QBoxLayout.Direction.LeftToRight if beside else QBoxLayout.Direction.TopToBottom
        if self._pair.direction() != way:
            self._pair.setDirection(way)

    def take_focus(self) -> None:
        """Keys begin at the large button; where it waits, at the list."""
        self._lent = not self.main.isEnabled()
        start = self.list if self._lent else self.main
        start.setFocus(Qt.FocusReason.OtherFocusReason)
