"""Rows that can be added, edited and removed: the entries of a section that comes more than once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from desktop.sheet import facts
from desktop.sheet.keys import REPEATED, Key
from desktop.window.parts.text import Text
from desktop.window.sheet.fields import Field, all_right, beside, field
from desktop.words import Phrase, template, tr

_MOST_BESIDE = 3
_GAP = 20
_WORDS: dict[str, tuple[str, str, str]] = {
    "refill": (template("Refill {number}"), template("Remove refill {number}"), template("Add a re&fill")),
    "appliance": (
        template("Appliance {number}"),
        template("Remove appliance {number}"),
        template("Add an app&liance"),
    ),
}
"""Of each section: what an entry is called, and the words on its buttons."""


class EntriesEditor(QWidget):
    """Edits the entries of a section of `_WORDS`.

    changed  the user changed something
    """

    changed = Signal()

    def __init__(self, section: str, explained: bool = True) -> None:
        super().__init__()
        self.section = section
        self.keys: list[Key] = [each for each in REPEATED if each.section == section]
        self.rows: list[EntryRow] = []
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(12)
        for key in self.keys if explained else ():
            line = Phrase("{label}: {explanation}", label=tr(key.label), explanation=tr(key.explanation))
            column.addWidget(Text(str(line), tone="muted", wrap=True))
        self._listed = QVBoxLayout()
        self._listed.setSpacing(14)
        column.addLayout(self._listed)
        self.add = QPushButton(tr(_WORDS[section][2]))
        self.add.clicked.connect(self._add_one)
        column.addWidget(self.add, 0, Qt.AlignmentFlag.AlignLeft)

    @property
    def fields(self) -> list[Field]:
        """The fields of all rows."""
        return [each for row in self.rows for each in row.fields]

    def show_entries(self, entries: Sequence[Mapping[str, Any]]) -> None:
        """Show these."""
        for row in list(self.rows):
            self._drop(row)
        for said in entries:
            self._add(said)

    def entries(self) -> list[dict[str, Any]]:
        """What the rows say, as far as it is right; a row without what is needed is left out."""
        return [row.said() for row in self.rows if row.whole()]

    def wrong(self) -> int:
        """How many fields are wrong; each says so."""
        return all_right(self.fields)

    def _add_one(self) -> None:
        self._add({}).fields[0].widget.setFocus()
        self.changed.emit()

    def _add(self, said: Mapping[str, Any]) -> EntryRow:
        row = EntryRow(self.section, self.keys, len(self.rows) + 1)
        for each in row.fields:
            each.setParent(row)
            each.show_value(said.get(each.key.key))
            each.changed.connect(row.judge)
            each.changed.connect(self.changed)
        row.remove.clicked.connect(lambda: self._remove(row))
        self.rows.append(row)
        self._listed.addWidget(row)
        return row

    def _remove(self, row: EntryRow) -> None:
        self._drop(row)
        self.add.setFocus()
        self.changed.emit()

    def _drop(self, row: EntryRow) -> None:
        self.rows.remove(row)
        self._listed.removeWidget(row)
        row.hide()
        row.deleteLater()
        for number, each in enumerate(self.rows, start=1):
            each.call(number)


class EntryRow(QWidget):
    """One entry: its fields beside one another, as many as there is room for."""

    def __init__(self, section: str, keys: Sequence[Key], number: int) -> None:
        super().__init__()
        self._section = section
        self.title = Text(bold=True)
        self.remove = QPushButton(tr("Remove"))
        self.fields = [field(key) for key in keys]
        for each in self.fields:
            if facts.is_needed(*each.key.path):
                each.needed = self.begun
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(4)
        self._parts = [self._part(each) for each in self.fields]
        self._beside = 0
        head = QHBoxLayout()
        head.addWidget(self.title)
        head.addWidget(self.remove)
        head.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addLayout(head)
        column.addLayout(self._grid)
        self.call(number)
        self._arrange()

    def call(self, number: int) -> None:
        """Be the entry of this number."""
        name, remove, _ = _WORDS[self._section]
        called = str(Phrase(name, number=str(number)))
        self.title.show_text(called)
        self.remove.setAccessibleName(str(Phrase(remove, number=str(number))))
        for each in self.fields:
            each.widget.setAccessibleName(f"{called}, {tr(each.key.label)}")

    def begun(self) -> bool:
        """Whether it says anything: then what is needed is missed."""
        return any(each.value() is not None for each in self.fields)

    def whole(self) -> bool:
        """Whether it says all that is needed."""
        return self.begun() and all(each.right() for each in self.fields if facts.is_needed(*each.key.path))

    def said(self) -> dict[str, Any]:
        """What it says, as far as that is right."""
        values = {each.key.key: each.value() for each in self.fields if each.right()}
        return {key: value for key, value in values.items() if value is not None}

    def judge(self) -> None:
        """Say beside every field what would be right."""
        for each in self.fields:
            each.judge()

    def minimumSizeHint(self) -> QSize:
        """As narrow as one field a line."""
        head = self.title.sizeHint().width() + self.remove.sizeHint().width() + _GAP
        return QSize(max(self._widest(), head), super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """As many fields stand beside one another as there is room for."""
        super().resizeEvent(event)
        self._arrange()

    def _part(self, made: Field) -> QWidget:
        """A field with its caption above and its fault below."""
        part = QWidget()
        column = QVBoxLayout(part)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        caption = QLabel(tr(made.key.label))
        caption.setBuddy(made.widget)
        column.addWidget(caption)
        column.addWidget(beside(made, made.key.unit))
        column.addWidget(made.fault)
        column.addStretch(1)
        return part

    def _widest(self) -> int:
        return max(part.minimumSizeHint().width() for part in self._parts)

    def _arrange(self) -> None:
        room = self.width() + _GAP
        most = max(1, min(_MOST_BESIDE, room // (self._widest() + _GAP)))
        if most == self._beside:
            return
        self._beside = most
        for number, part in enumerate(self._parts):
            self._grid.removeWidget(part)
            self._grid.addWidget(part, number // most, number % most)
        for column in range(_MOST_BESIDE + 1):
            self._grid.setColumnStretch(column, int(column == most))
