"""The parts of the dialog in which notes are written, and their places."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desktop.teaching.notes import MOST_IN_LINE, MOST_IN_TEXT
from desktop.window.parts.scrolled import Scrolled, comfortable
from desktop.window.parts.text import Elided
from desktop.window.parts.told import Told
from desktop.window.teaching.note_form import NoteForm
from desktop.words import tr


class EditorParts(QDialog):
    """What is seen; what it does is for whoever derives from it.

    recordings  the names of those that there are notes on
    """

    def __init__(self, recordings: Sequence[str], form: NoteForm, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.form = form
        self.told = Told(1.0)
        self.file = Elided(tone="muted")
        self._make_heads(recordings)
        self._make_list()
        self._make_buttons()
        self._lay_out()

    def _make_heads(self, recordings: Sequence[str]) -> None:
        self.which = QComboBox(self)
        self.which.setVisible(len(recordings) > 1)
        self.which.setAccessibleName(tr("Notes on which recording"))
        self.which.addItems(list(recordings))
        self.which.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.heads = {"title": QLineEdit(), "about": QLineEdit(), "author": QLineEdit()}
        for key, field in self.heads.items():
            field.setMaxLength(MOST_IN_TEXT if key == "about" else MOST_IN_LINE)

    def _make_list(self) -> None:
        self.list = QListWidget()
        self.list.setAccessibleName(tr("Notes in the order of the lesson"))
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)

    def _make_buttons(self) -> None:
        self.add_button = _button(tr("&New note"))
        self.remove_button = _button(tr("&Remove"))
        self.up_button = _button(tr("&Up"))
        self.down_button = _button(tr("&Down"))
        self.undo_button = _button(tr("Und&o"))
        self.redo_button = _button(tr("R&edo"))
        self.try_button = _button(tr("&Try from here"))
        self.try_button.setToolTip(tr("Go through the lesson as it is now, from this note on"))
        kinds = QDialogButtonBox.StandardButton
        self.buttons = QDialogButtonBox(kinds.Save | kinds.Close)
        self.save_button = self.buttons.button(kinds.Save)
        self.buttons.button(kinds.Close).setText(tr("Close"))
        for button in self.buttons.buttons():
            button.setAutoDefault(False)

    def _lay_out(self) -> None:
        middle = QHBoxLayout()
        middle.setSpacing(16)
        middle.addLayout(self._left(), 2)
        middle.addWidget(Scrolled(self.form), 3)
        column = QVBoxLayout(self)
        column.setSpacing(10)
        column.addWidget(self.told)
        column.addLayout(self._above())
        column.addLayout(middle, 1)
        column.addWidget(self.file)
        column.addWidget(self.buttons)
        self.resize(comfortable(self, 900, 680))

    def _above(self) -> QFormLayout:
        heads = QFormLayout()
        if self.which.count() > 1:
            heads.addRow(tr("Recording"), self.which)
        labels = (tr("Title of the lesson"), tr("What it is about"), tr("Author"))
        for (key, field), label in zip(self.heads.items(), labels, strict=True):
            field.setAccessibleName(label)
            field.setObjectName(key)
            heads.addRow(label, field)
        return heads

    def _left(self) -> QVBoxLayout:
        left = QVBoxLayout()
        left.addWidget(self.list, 1)
        grid = QGridLayout()
        pairs = (
            (self.add_button, self.remove_button),
            (self.up_button, self.down_button),
            (self.undo_button, self.redo_button),
        )
        for row, pair in enumerate(pairs):
            for column, button in enumerate(pair):
                grid.addWidget(button, row, column)
        grid.addWidget(self.try_button, len(pairs), 0, 1, 2)
        left.addLayout(grid)
        return left


def _button(text: str) -> QPushButton:
    button = QPushButton(text)
    button.setAutoDefault(False)
    return button
