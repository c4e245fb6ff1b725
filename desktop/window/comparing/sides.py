"""Which recording or session stands before, and which after."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QLabel,
    QPushButton,
    QStyle,
    QStyleOptionComboBox,
    QStylePainter,
    QWidget,
)

from desktop.window.comparing.choice import Choice, usual
from desktop.words import tr

_LETTERS, _EDGES = 24, 6


class _Chooser(QComboBox):
    """A list that leaves out the middle of what doesn't fit: names begin, and days end, with what tells most."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setAccessibleName(name)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(_LETTERS)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The field, and as much of what is chosen as fits."""
        painter = QStylePainter(self)
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        painter.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
        field = self.style().subControlRect(
            QStyle.ComplexControl.CC_ComboBox, option, QStyle.SubControl.SC_ComboBoxEditField, self
        )
        whole = option.currentText
        fitting = self.fontMetrics().elidedText(whole, Qt.TextElideMode.ElideMiddle, field.width() - _EDGES)
        option.currentText = fitting
        painter.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)
        self.setToolTip(whole if fitting != whole else "")


class Sides(QWidget):
    """Two lists to choose from, a button to turn them round, and one to fetch another recording.

    changed      something else is to be compared
    other_asked  the user wants to choose another recording
    """

    changed = Signal()
    other_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.choices: list[Choice] = []
        self.before, self.after = _Chooser(tr("Before")), _Chooser(tr("After"))
        self.swap = QPushButton(tr("&Turn round"))
        self.fetch = QPushButton(tr("Another &recording…"))
        self.swap.clicked.connect(self._turn_round)
        self.fetch.clicked.connect(self.other_asked)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setColumnStretch(1, 1)
        rows = ((tr("&Before"), self.before, self.swap), (tr("&After"), self.after, self.fetch))
        for row, (words, box, button) in enumerate(rows):
            label = QLabel(words)
            label.setBuddy(box)
            box.activated.connect(lambda _: self.changed.emit())
            button.setAutoDefault(False)
            for column, part in enumerate((label, box, button)):
                grid.addWidget(part, row, column)

    def show_choices(self, choices: Sequence[Choice], chosen: tuple[int, int] | None = None) -> None:
        """Offer these; `chosen`: which of them at first, None for what is usual."""
        self.choices = list(choices)
        picked = usual(self.choices) if chosen is None else chosen
        for box, index in zip((self.before, self.after), picked, strict=True):
            box.clear()
            box.addItems([str(choice.label) for choice in self.choices])
            box.setCurrentIndex(index)
            box.setEnabled(len(self.choices) > 1)
        self.swap.setEnabled(len(self.choices) > 1)

    @property
    def chosen(self) -> tuple[int, int]:
        """Which stand before and after."""
        return self.before.currentIndex(), self.after.currentIndex()

    def both(self) -> tuple[Choice, Choice] | None:
        """What is to be compared; None where it is one and the same."""
        before, after = self.chosen
        return None if before == after else (self.choices[before], self.choices[after])

    def _turn_round(self) -> None:
        before, after = self.chosen
        self.before.setCurrentIndex(after)
        self.after.setCurrentIndex(before)
        self.changed.emit()
