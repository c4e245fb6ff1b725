"""The form for one note: its moment or span, its text, what it points at, and its question."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QMenu,
    QPlainTextEdit,
    QPushButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from desktop.picture.replay import typed_instant
from desktop.review import Review
from desktop.teaching.lesson import Note, instant_of, stamp_of
from desktop.teaching.notes import MOST_IN_LINE
from desktop.teaching.values import QUANTITIES, Values
from desktop.window.style.look import look
from desktop.window.teaching.beside import Beside
from desktop.window.teaching.question_form import PartList, QuestionForm
from desktop.words import Phrase, tr
from recordings.errors import UsageError

_LINES = 6


class TimeField(QWidget):
    """A time that is typed, or taken from the cursor.

    changed  it is another one, or none
    """

    changed = Signal()

    def __init__(
        self, name: str, review: Review, here: Callable[[], int], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._zone, self._here = review.site.zone, here
        self._stamp: datetime | str | None = None
        self.line = QLineEdit()
        self.line.setAccessibleName(name)
        self.line.textEdited.connect(self._typed)
        self.button = QPushButton(tr("From the cursor"))
        self.button.setAccessibleName(str(Phrase("{name}: from the cursor", name=name)))
        self.button.setAutoDefault(False)
        self.button.clicked.connect(self._take)
        self._dress()
        look().changed.connect(self._dress)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.line, 1)
        row.addWidget(self.button)
        self.setFocusProxy(self.line)

    def show_stamp(self, stamp: datetime | str | None) -> None:
        """Show a time as it stands in the file, or as it was typed where that is none; None for nothing."""
        self._stamp = stamp
        shown = f"{self._local(stamp):%Y-%m-%d %H:%M:%S}" if isinstance(stamp, datetime) else stamp or ""
        self.line.setText(shown)
        self.line.setCursorPosition(0)

    @property
    def stamp(self) -> datetime | str | None:
        """The time as it is to stand in the file: as it stood there, where it is the same; what was typed where
        that is no time."""
        return self._stamp

    def _dress(self) -> None:
        self.line.setMinimumWidth(self.fontMetrics().horizontalAdvance("0000-00-00 00:00:00 ") + 8)

    def _local(self, stamp: datetime) -> datetime:
        return stamp_of(instant_of(stamp, self._zone), self._zone)

    def _typed(self, text: str) -> None:
        try:
            instant = typed_instant(text, self._here(), self._zone) if text.strip() else None
        except UsageError:
            self._stamp = text.strip()
        else:
            self._set(instant)
        self.changed.emit()

    def _set(self, instant: int | None) -> None:
        before = instant_of(self._stamp, self._zone) if isinstance(self._stamp, datetime) else None
        if instant is None:
            self._stamp = None
        elif instant != before:
            self._stamp = stamp_of(instant, self._zone)

    def _take(self) -> None:
        self._set(self._here())
        self.show_stamp(self._stamp)
        self.changed.emit()


class NoteForm(QWidget):
    """Edits a note, as the table that stands in the file.

    changed  it says something else now
    """

    changed = Signal()

    def __init__(self, review: Review, here: Callable[[], int], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._review, self._filling = review, False
        self.at = TimeField(tr("Time"), review, here)
        self.until = TimeField(tr("Until"), review, here)
        self.text = QPlainTextEdit()
        self.text.setTabChangesFocus(True)
        self.text.setFixedHeight(self.fontMetrics().lineSpacing() * (_LINES + 1))
        self.values = QToolButton()
        self.values.setText(tr("Insert a value"))
        self.values.setToolTip(
            tr(
                "With _then after its name: at the end of the span; with _highest or _lowest: the extremes in it."
            )
        )
        self.values.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.values.setMenu(QMenu(self.values))
        self.values.menu().aboutToShow.connect(self._offer_values)
        self.author = QLineEdit()
        self.author.setMaxLength(MOST_IN_LINE)
        self.look_at = PartList(tr("Parts to point at"), panels=True)
        self.question = QuestionForm()
        self._lay_out()
        for part in (self.at, self.until, self.look_at, self.question):
            part.changed.connect(self._tell)
        self.text.textChanged.connect(self._tell)
        self.author.textEdited.connect(self._tell)

    def _lay_out(self) -> None:
        form = QFormLayout()
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        self.rows: dict[str, Beside] = {}
        """By the key that a fault names."""
        for key, label, field in (
            ("at", tr("Time"), self.at),
            ("until", tr("Until (a span)"), self.until),
            ("text", tr("Text"), self.text),
            ("", "", self.values),
            ("author", tr("Author"), self.author),
            ("look_at", tr("Parts to point at"), self.look_at),
        ):
            if key:
                self.rows[key] = Beside(field)
            form.addRow(label, self.rows.get(key, field))
            if label and not isinstance(field, TimeField):
                field.setAccessibleName(label)
        self.rows |= self.question.rows
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addLayout(form)
        column.addWidget(self.question)
        column.addStretch(1)

    def show_faults(self, faults: Mapping[str, str]) -> None:
        """Say beside each field what is wrong with it (field → what)."""
        for key, row in self.rows.items():
            row.say(faults.get(key, ""))

    def show_table(self, table: Mapping[str, Any]) -> None:
        """Show a note."""
        self._filling = True
        self.at.show_stamp(table.get("at"))
        self.until.show_stamp(table.get("until"))
        self.text.setPlainText(table.get("text", ""))
        self.author.setText(table.get("author", ""))
        self.look_at.check(table.get("look_at", []))
        self.question.show_table(table.get("question", {}))
        self._filling = False

    def table(self) -> dict[str, Any]:
        """The note as it stands in the file."""
        table = {
            "at": self.at.stamp,
            "until": self.until.stamp,
            "text": self.text.toPlainText().strip(),
            "author": self.author.text().strip(),
            "look_at": self.look_at.checked(),
            "question": self.question.table(),
        }
        return {key: value for key, value in table.items() if value not in (None, "", [], {})}

    def _offer_values(self) -> None:
        """What could be quoted, as it is at the note's moment."""
        menu = self.values.menu()
        menu.clear()
        stamp = self.at.stamp
        zone = self._review.site.zone
        told = (
            None
            if not isinstance(stamp, datetime)
            else Values(self._review, Note(instant_of(stamp, zone), ""))
        )
        for name, quantity in QUANTITIES.items():
            value = "" if told is None else told.text(name)
            text = str(Phrase("{label}: {value}", label=tr(quantity.label), value=value or ""))
            action = menu.addAction(text.replace("&", "&&"))
            action.triggered.connect(lambda _=False, name=name: self.text.insertPlainText(f"{{{name}}}"))

    def _tell(self) -> None:
        if not self._filling:
            self.changed.emit()
