"""The words of a lesson's strip and the answers beside them, as high as they need in the width that there is."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from desktop.window.parts.text import Text
from desktop.window.teaching.choices import Choices
from desktop.words import kept_together

_GAP, _BETWEEN, _LINE_GAP = 8, 28, 5
_NARROW = 78
"""Characters of width below which answers stand below the words, not beside them."""


class Words(QWidget):
    """Up to three texts, one below the other."""

    def __init__(self) -> None:
        super().__init__()
        self.first = Text(wrap=True, parent=self)
        self.second = Text(wrap=True, bold=True, parent=self)
        self.third = Text(wrap=True, parent=self)
        for part in self._parts:
            part.setAlignment(Qt.AlignmentFlag.AlignTop)

    @property
    def _parts(self) -> tuple[Text, ...]:
        return self.first, self.second, self.third

    def say(self, first: str, second: str, third: str) -> None:
        """Show these; "" for nothing."""
        for part, text in zip(self._parts, (first, second, third), strict=True):
            part.show_text(kept_together(text))
            part.setVisible(bool(text))

    def told(self) -> list[str]:
        """What is shown."""
        return [part.text() for part in self._parts]

    def height_in(self, width: int) -> int:
        """How high it gets in a width."""
        heights = [part.heightForWidth(width) for part in self._parts if part.text()]
        return sum(heights) + _LINE_GAP * max(len(heights) - 1, 0)

    def place(self, width: int) -> None:
        """Put the texts in their places."""
        top = 0
        for part in self._parts:
            if part.text():
                height = part.heightForWidth(width)
                part.setGeometry(0, top, width, height)
                top += height + _LINE_GAP


class Inside(QWidget):
    """Words, and answers beside them; below them where it is narrow."""

    def __init__(self, words: Words, choices: Choices) -> None:
        super().__init__()
        self._words, self._choices = words, choices
        for part in (words, choices):
            part.setParent(self)

    def height_in(self, width: int) -> int:
        """How high it gets in a width."""
        left, right = self._widths(width)
        words, answers = self._words.height_in(left), self._choices.height_in(right)
        return max(words, answers) if left + right < width else words + _GAP + answers

    def place(self, width: int) -> None:
        """Put both in their places."""
        left, right = self._widths(width)
        words, answers = self._words.height_in(left), self._choices.height_in(right)
        self._words.setGeometry(0, 0, left, words)
        self._words.place(left)
        self._choices.place(right)
        if left + right < width:
            self._choices.setGeometry(width - right, 0, right, answers)
        else:
            self._choices.setGeometry(0, words + _GAP, right, answers)

    def _widths(self, width: int) -> tuple[int, int]:
        if not self._choices.rows:
            return width - 1, 0
        if width < _NARROW * self.fontMetrics().averageCharWidth():
            return width, width
        half = (width - _BETWEEN) // 2
        return half, half
