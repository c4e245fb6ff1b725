"""The dialog in which notes and lessons are written: the notes in their order, and a form for the chosen one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QMessageBox,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desktop.review import Review
from desktop.teaching.copying import save_copy
from desktop.teaching.draft import NotesDraft
from desktop.teaching.lesson import instant_of, notes_file, settled, stamp_of
from desktop.teaching.notes import MOST_IN_LINE, MOST_IN_TEXT, MOST_NOTES
from desktop.window.parts.scrolled import Scrolled, comfortable
from desktop.window.parts.text import Elided
from desktop.window.parts.told import Told
from desktop.window.teaching.note_form import NoteForm
from desktop.words import Phrase, clock, tr
from recordings.errors import HeadraceError

_SHOWN = 48


class NotesDialog(QDialog):
    """Edits the notes on one recording.

    recording  its file
    here       tells where the cursor stands (UTC nanoseconds)
    came_along it is a demo: its notes stay as they are, and a copy may be saved

    went     the user chose a note; its instant (int, UTC nanoseconds)
    written  the notes were saved
    copy_asked  where a copy of the recording with the notes shall go is to be chosen
    copied   a copy of the recording was saved, with the notes (Path)
    """

    went = Signal(object)
    written = Signal()
    copy_asked = Signal()
    copied = Signal(object)

    def __init__(
        self,
        recording: Path,
        review: Review,
        here: Callable[[], int],
        came_along: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.recording, self._review, self._here, self._came_along = recording, review, here, came_along
        self.draft = NotesDraft.load(notes_file(recording))
        self._filling = False
        self.setWindowTitle(str(Phrase("Notes on {name}", name=recording.name)))
        self._make()
        self._lay_out()
        self._list_notes(0)

    # What it says

    @property
    def changed(self) -> bool:
        """Whether there is something that isn't written yet."""
        return self.draft.changed or bool(self.form.fault)

    def fault(self) -> str:
        """What can't be right; "" where all is."""
        if self.form.fault and self.list.currentRow() >= 0:
            return self.form.fault
        time, zone = self._review.recording.time, self._review.site.zone
        try:
            settled(self.draft.check(), int(time[0]), int(time[-1]), zone, notes_file(self.recording).name)
        except HeadraceError as error:
            return str(error)
        return ""

    def follow(self, recording: Path | None) -> None:
        """Another recording is shown; what isn't written yet stays."""
        if recording != self.recording and not self.changed:
            self.reject()

    # What is done

    def add(self) -> None:
        """A new note at the cursor, after the chosen one."""
        if len(self.draft.tables) >= MOST_NOTES:
            return
        row = self.list.currentRow() + 1
        self.draft.insert(row, {"at": stamp_of(self._here(), self._review.site.zone)})
        self._list_notes(row)
        self.form.text.setFocus()

    def remove(self) -> None:
        """Take the chosen note out."""
        row = self.list.currentRow()
        if row >= 0:
            self.draft.remove(row)
            self._list_notes(min(row, len(self.draft.tables) - 1))

    def move(self, by: int) -> None:
        """Put the chosen note earlier or later in the order."""
        row = self.list.currentRow()
        if row >= 0 and 0 <= row + by < len(self.draft.tables):
            self.draft.move(row, row + by)
            self._list_notes(row + by)

    def save(self) -> bool:
        """Write the notes. False where that can't be, or isn't done yet."""
        fault = self.fault()
        if fault:
            self.told.say("attend", fault)
            return False
        if self._came_along:
            self.copy_asked.emit()
            return False
        try:
            self.draft.save()
        except HeadraceError as error:
            self.told.say("attend", str(error))
            return False
        self._look()
        self.written.emit()
        return True

    def copy_to(self, target: Path) -> bool:
        """Save a copy of the recording with the notes. False where that can't be."""
        try:
            save_copy(self.draft, self.recording, target)
        except HeadraceError as error:
            self.told.say("attend", str(error))
            return False
        self.recording = target
        self._came_along = False
        self.file.show_text(str(notes_file(target)))
        self._look()
        self.copied.emit(target)
        return True

    def reject(self) -> None:
        """Close; what isn't written yet is asked about."""
        if self.changed:
            buttons = QMessageBox.StandardButton
            answer = self._ask()
            if answer == buttons.Cancel or (answer == buttons.Save and not self.save()):
                return
        super().reject()

    def _ask(self) -> QMessageBox.StandardButton:
        buttons = QMessageBox.StandardButton
        box = QMessageBox(
            QMessageBox.Icon.NoIcon,
            self.windowTitle(),
            tr("The notes were changed. Write the changes?"),
            buttons.Save | buttons.Discard | buttons.Cancel,
            self,
        )
        box.setDefaultButton(buttons.Save)
        return QMessageBox.StandardButton(box.exec())

    # What is shown

    def _list_notes(self, row: int) -> None:
        self._filling = True
        self.list.clear()
        for table in self.draft.tables:
            self.list.addItem(self._line(table))
        self.list.setCurrentRow(row if self.draft.tables else -1)
        self._filling = False
        self._show_row()
        self._look()

    def _line(self, table: dict[str, object]) -> str:
        zone = self._review.site.zone
        at, text = table.get("at"), " ".join(str(table.get("text", "")).split())
        time = "" if at is None else clock(instant_of(at, zone), zone)
        asks = "? " if table.get("question") else ""
        return f"{time}  {asks}{text[:_SHOWN]}{'…' if len(text) > _SHOWN else ''}"

    def _chosen(self) -> None:
        if self._filling:
            return
        self._show_row()
        row = self.list.currentRow()
        at = self.draft.tables[row].get("at") if row >= 0 else None
        if at is not None:
            self.went.emit(instant_of(at, self._review.site.zone))

    def _show_row(self) -> None:
        row = self.list.currentRow()
        self.form.setEnabled(row >= 0)
        self.form.show_table(self.draft.tables[row] if row >= 0 else {})
        self._look()

    def _edited(self) -> None:
        row = self.list.currentRow()
        if row >= 0:
            self.draft.put(row, self.form.table())
            self.list.item(row).setText(self._line(self.draft.tables[row]))
        self._look()

    def _head_edited(self, key: str, text: str) -> None:
        self.draft.set_head(key, text.strip())
        self._look()

    def _look(self) -> None:
        """Say how things stand, and offer what can be done."""
        fault = self.fault()
        row, count = self.list.currentRow(), len(self.draft.tables)
        self.told.say("attend" if fault else None, fault or self._standing())
        self.add_button.setEnabled(count < MOST_NOTES)
        self.remove_button.setEnabled(row >= 0)
        self.up_button.setEnabled(row > 0)
        self.down_button.setEnabled(0 <= row < count - 1)
        self.save_button.setEnabled(not fault)
        self.save_button.setText(tr("&Save a copy…") if self._came_along else tr("&Save"))

    def _standing(self) -> str:
        if self._came_along:
            return tr("These notes came along and stay as they are; with changes, save a copy.")
        if self.changed:
            return tr("Changed and not written yet.")
        return tr("The notes as they are written.") if self.draft.tables else tr("There are no notes yet.")

    # Putting together

    def _make(self) -> None:
        self.told = Told(1.0)
        self.list = QListWidget()
        self.list.setAccessibleName(tr("Notes in the order of the lesson"))
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.currentRowChanged.connect(self._chosen)
        self.form = NoteForm(self._review, self._here)
        self.form.changed.connect(self._edited)
        self.heads = {"title": QLineEdit(), "about": QLineEdit(), "author": QLineEdit()}
        for key, field in self.heads.items():
            field.setMaxLength(MOST_IN_TEXT if key == "about" else MOST_IN_LINE)
            field.setText(self.draft.heads.get(key, ""))
            field.setCursorPosition(0)
            field.textEdited.connect(lambda text, key=key: self._head_edited(key, text))
        self.add_button = _button(tr("&New note"), self.add)
        self.remove_button = _button(tr("&Remove"), self.remove)
        self.up_button = _button(tr("&Up"), lambda: self.move(-1))
        self.down_button = _button(tr("&Down"), lambda: self.move(1))
        kinds = QDialogButtonBox.StandardButton
        self.buttons = QDialogButtonBox(kinds.Save | kinds.Close)
        self.save_button = self.buttons.button(kinds.Save)
        self.buttons.button(kinds.Close).setText(tr("Close"))
        for button in self.buttons.buttons():
            button.setAutoDefault(False)
        self.save_button.clicked.connect(self.save)
        self.buttons.rejected.connect(self.reject)

    def _lay_out(self) -> None:
        self.file = Elided(str(notes_file(self.recording)), tone="muted")
        heads = QFormLayout()
        labels = (tr("Title of the lesson"), tr("What it is about"), tr("Author"))
        for (key, field), label in zip(self.heads.items(), labels, strict=True):
            field.setAccessibleName(label)
            field.setObjectName(key)
            heads.addRow(label, field)
        left = QVBoxLayout()
        left.addWidget(self.list, 1)
        grid = QGridLayout()
        for number, button in enumerate(
            (self.add_button, self.remove_button, self.up_button, self.down_button)
        ):
            grid.addWidget(button, number // 2, number % 2)
        left.addLayout(grid)
        middle = QHBoxLayout()
        middle.setSpacing(16)
        middle.addLayout(left, 2)
        middle.addWidget(Scrolled(self.form), 3)
        column = QVBoxLayout(self)
        column.setSpacing(10)
        column.addWidget(self.told)
        column.addLayout(heads)
        column.addLayout(middle, 1)
        column.addWidget(self.file)
        column.addWidget(self.buttons)
        self.resize(comfortable(self, 900, 680))


def _button(text: str, act: Callable[[], object]) -> QPushButton:
    button = QPushButton(text)
    button.setAutoDefault(False)
    button.clicked.connect(act)
    return button
