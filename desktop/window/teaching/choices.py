"""Answers to choose from: each a button with words that break into lines, chosen by mouse, arrows or number."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QMouseEvent, QResizeEvent
from PySide6.QtWidgets import QButtonGroup, QWidget

from desktop.teaching.course import Answer
from desktop.window.parts.radio import RadioMark
from desktop.window.parts.text import Text
from desktop.words import Phrase

_GAP, _BETWEEN = 6, 3


class Choice(QWidget):
    """One answer: a radio button, and its words beside it, which belong to it for the mouse as well."""

    def __init__(self, number: int, words: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.button = RadioMark()
        self.button.setParent(self)
        self.button.setAccessibleName(words)
        self.number = Text(str(number), tone="muted", parent=self)
        self.words = Text(words, wrap=True, parent=self)
        self.words.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._plain = words

    def mark(self, right: bool, given: bool) -> None:
        """Show whether it is right, once the question is answered."""
        sign = "✓ " if right else "✗ " if given else ""
        self.words.show_text(sign + self._plain)
        self.words.set_tone("text" if right or given else "muted", bold=right)
        self.button.setEnabled(False)

    def heightForWidth(self, width: int) -> int:
        """As high as its words in what is left beside the button."""
        side = self.button.sizeHint().height()
        top = max((side - self.fontMetrics().lineSpacing()) // 2, 0)
        return max(top + self.words.heightForWidth(max(width - self._indent(), 1)), side)

    def hasHeightForWidth(self) -> bool:
        """Yes."""
        return True

    def sizeHint(self) -> QSize:
        """A line of words."""
        return QSize(320, self.heightForWidth(320))

    def minimumSizeHint(self) -> QSize:
        """Some words beside the button."""
        return QSize(self._indent() + self.words.minimumSizeHint().width(), self.button.sizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Another width."""
        self.arrange()

    def arrange(self) -> None:
        """Button and number at the left, on the first line."""
        line = self.fontMetrics().lineSpacing()
        side = self.button.sizeHint()
        # What is higher, button or line, has the other one in its middle.
        top = max((side.height() - line) // 2, 0)
        self.button.setGeometry(0, max((line - side.height()) // 2, 0), side.width(), side.height())
        self.number.setGeometry(side.width() + 4, top, self.number.sizeHint().width(), line)
        left = self._indent()
        self.words.setGeometry(left, top, self.width() - left, self.height() - top)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """The words stand for the button."""
        if self.button.isEnabled():
            self.button.setFocus(Qt.FocusReason.MouseFocusReason)
            self.button.setChecked(True)

    def _indent(self) -> int:
        return self.button.sizeHint().width() + self.fontMetrics().horizontalAdvance("00") + _GAP


class Choices(QWidget):
    """All answers to a question.

    changed  another one is chosen
    """

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows: list[Choice] = []
        self._group = QButtonGroup(self)
        self._group.idToggled.connect(self._toggled)

    def offer(self, texts: Sequence[str]) -> None:
        """Offer these."""
        for row in self.rows:
            self._group.removeButton(row.button)
            row.hide()
            row.deleteLater()
        self.rows = []
        for number, text in enumerate(texts):
            row = Choice(number + 1, text, self)
            self._group.addButton(row.button, number)
            row.show()
            self.rows.append(row)
        self.setVisible(bool(texts))

    def show_answer(self, right: Sequence[int | str], answer: Answer) -> None:
        """Mark what is right and what was given; nothing can be chosen any more."""
        for number, row in enumerate(self.rows):
            row.mark(number in right, number in (answer.given, *answer.missed))
            told = Phrase("{answer} (right)", answer=row.words.text()) if number in right else None
            row.button.setAccessibleName(row.words.text() if told is None else str(told))

    def show_missed(self, missed: Sequence[int | str]) -> None:
        """Mark what was given and is wrong; something else can be chosen."""
        for number in missed:
            row = self.rows[int(number)] if self.rows else None
            if row is not None and row.button.isEnabled():
                row.mark(False, True)
                self._unselect(row)

    def select(self, index: int) -> None:
        """Choose by index, where that can be chosen; the focus stays where it is."""
        if 0 <= index < len(self.rows) and self.rows[index].button.isEnabled():
            self.rows[index].button.setChecked(True)

    def _unselect(self, row: Choice) -> None:
        # In a group that is exclusive the chosen button can't be let go.
        self._group.setExclusive(False)
        row.button.setChecked(False)
        self._group.setExclusive(True)

    def choose(self, number: int) -> bool:
        """Choose by number, from 1; False where there is none."""
        if not 1 <= number <= len(self.rows) or not self.rows[number - 1].button.isEnabled():
            return False
        button = self.rows[number - 1].button
        button.setChecked(True)
        button.setFocus(Qt.FocusReason.ShortcutFocusReason)
        return True

    def choose_end(self, end: int) -> None:
        """Choose the first (0) or the last (-1) of those that are left."""
        left = [number for number, row in enumerate(self.rows, start=1) if row.button.isEnabled()]
        if left:
            self.choose(left[end])

    @property
    def chosen(self) -> int | None:
        """The index of the one that is chosen."""
        number = self._group.checkedId()
        return None if number < 0 else number

    def height_in(self, width: int) -> int:
        """How high it gets in a width."""
        heights = [row.heightForWidth(width) for row in self.rows]
        return sum(heights) + _BETWEEN * max(len(heights) - 1, 0)

    def place(self, width: int) -> None:
        """Put the answers one below the other."""
        top = 0
        for row in self.rows:
            height = row.heightForWidth(width)
            row.setGeometry(0, top, width, height)
            row.arrange()
            top += height + _BETWEEN

    def _toggled(self, number: int, on: bool) -> None:
        if on:
            self.changed.emit()
