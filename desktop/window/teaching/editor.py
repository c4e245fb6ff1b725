"""The dialog in which notes and lessons are written: the notes in their order, and a form for the chosen one."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from datetime import datetime
from itertools import zip_longest
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit, QMessageBox, QPlainTextEdit, QWidget

from desktop.pack.beside import notes_file
from desktop.review import Review
from desktop.teaching.belonging import NotesPlace
from desktop.teaching.copying import save_copy
from desktop.teaching.draft import DraftState, NotesDraft
from desktop.teaching.faults import Fault
from desktop.teaching.history import History, typing_key
from desktop.teaching.lesson import instant_of, settled, stamp_of
from desktop.teaching.notes import MOST_NOTES
from desktop.window.teaching.editor_parts import EditorParts
from desktop.window.teaching.note_form import NoteForm
from desktop.window.teaching.telling import FaultTelling
from desktop.window.teaching.undoing import UndoKeys
from desktop.words import Phrase, clock, tr
from recordings.errors import HeadraceError

_SHOWN = 48


class NotesDialog(EditorParts):
    """Edits the notes on what is open, of one recording at a time.

    places  where the notes of each recording are
    here    tells where the cursor stands (UTC nanoseconds)
    demo    a recording that came along: its notes stay as they are, and a copy may be saved

    went     the user chose a note; its instant (int, UTC nanoseconds)
    written  the notes were saved
    try_asked   the lesson is to be gone through as it is now, from a note on (Notes, its index)
    copy_asked  where a copy of the recording with the notes shall go is to be chosen
    copied   a copy of the recording was saved, with the notes (Path)
    """

    went = Signal(object)
    written = Signal()
    try_asked = Signal(object, int)
    copy_asked = Signal()
    copied = Signal(object)

    def __init__(
        self,
        places: Sequence[NotesPlace],
        review: Review,
        here: Callable[[], int],
        demo: Path | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__([each.recording for each in places], NoteForm(review, here), parent)
        self.places, self._review, self._here, self._demo = tuple(places), review, here, demo
        self.place = _to_begin_with(self.places)
        self.which.setCurrentIndex(self.places.index(self.place))
        self.faults = FaultTelling(review, self.form)
        self.draft = _draft(self.place)
        self.history = History(self.draft.state)
        self._filling = False
        self._connect()
        self._show_place()

    # What it says

    @property
    def changed(self) -> bool:
        """Whether there is something that isn't written yet."""
        return self.draft.changed

    def follow(self, places: Sequence[NotesPlace]) -> None:
        """Something is shown, maybe another recording; what isn't written yet stays."""
        if tuple(places) != self.places and not self.changed:
            self.reject()

    # What is done

    def add(self) -> None:
        """A new note at the cursor, after the chosen one."""
        if len(self.draft.tables) >= MOST_NOTES:
            return
        left = self.list.currentRow()
        row = left + 1
        self.draft.insert(row, {"at": stamp_of(self._here(), self._review.site.zone)})
        self._list_notes(row)
        self.faults.forget()
        self.faults.leave(self.draft, left)
        self._look()
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

    def undo(self) -> None:
        """Take the last step back."""
        before = self.draft.state
        if self.history.undo():
            self._restore(before)

    def redo(self) -> None:
        """Do the step again that was taken back last."""
        before = self.draft.state
        if self.history.redo():
            self._restore(before)

    def _restore(self, before: DraftState) -> None:
        state = self.history.now
        self.draft.restore(state)
        # As it is after a file was written in between.
        self.history.now = self.draft.state
        pairs = zip_longest(before.tables, state.tables)
        changed = (number for number, (one, other) in enumerate(pairs) if one != other)
        row = next(changed, self.list.currentRow())
        self._show_heads()
        self._list_notes(min(row, len(self.draft.tables) - 1))

    def try_from_here(self) -> None:
        """Go through the lesson as it is now, from the chosen note on."""
        if self.list.currentRow() < 0 or self._told_what_blocks():
            return
        time, zone = self._review.recording.time, self._review.site.zone
        try:
            notes = settled(self.draft.check(), int(time[0]), int(time[-1]), zone)
        except HeadraceError as error:
            self.told.say("attend", str(error))
            return
        self.try_asked.emit(notes, self.list.currentRow())

    def save(self) -> bool:
        """Write the notes. False where that can't be, or isn't done yet."""
        if self._told_what_blocks():
            return False
        if self._demo is not None:
            self.copy_asked.emit()
            return False
        try:
            self.draft.save()
        except HeadraceError as error:
            self.told.say("attend", str(error))
            return False
        self.history.now = self.draft.state
        self._look()
        self.written.emit()
        return True

    def _told_what_blocks(self) -> bool:
        """Whether something is wrong that nobody could read or answer; then the first of it is gone to."""
        first = self.faults.check(self.draft)
        if first is not None:
            self._go_to(first)
        self._look()
        return first is not None

    def _go_to(self, fault: Fault) -> None:
        told = self.faults.told
        if fault.note is None:
            self.heads[fault.field].setFocus()
            return
        self._list_notes(fault.note)
        self.faults.told = told
        self.form.rows[fault.field].setFocus()

    def copy_to(self, target: Path) -> bool:
        """Save a copy of the recording with the notes. False where that can't be."""
        if self._demo is None:
            return False
        try:
            save_copy(self.draft, self._demo, target)
        except HeadraceError as error:
            self.told.say("attend", str(error))
            return False
        self._demo = None
        self.history.now = self.draft.state
        self.place = NotesPlace(target.name, notes_file(target))
        self.places = (self.place,)
        self.file.show_text(str(self.place.path))
        self._look()
        self.copied.emit(target)
        return True

    def reject(self) -> None:
        """Close; what isn't written yet is asked about."""
        if self._done_with():
            super().reject()

    def turn_to(self, index: int) -> None:
        """Go to the notes on another of the recordings; what isn't written yet is asked about."""
        before = self.places.index(self.place)
        if index == before:
            return
        try:
            draft = _draft(self.places[index]) if self._done_with() else None
        except HeadraceError as error:
            self.told.say("attend", str(error))
            draft = None
        if draft is None:
            self.which.setCurrentIndex(before)
            return
        self.place, self.draft = self.places[index], draft
        self.history = History(draft.state)
        self._show_place()

    def _done_with(self) -> bool:
        """Whether these notes can be left; what isn't written yet is asked about."""
        if not self.changed:
            return True
        buttons = QMessageBox.StandardButton
        answer = self._ask()
        return answer == buttons.Discard or (answer == buttons.Save and self.save())

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

    def _show_place(self) -> None:
        """Show the notes of the recording that they are on now."""
        self.setWindowTitle(str(Phrase("Notes on {name}", name=self.place.recording)))
        self._show_heads()
        self.file.show_text(str(self.place.path))
        self._list_notes(0)

    def _show_heads(self) -> None:
        for key, field in self.heads.items():
            field.setText(self.draft.heads.get(key, ""))
            field.setCursorPosition(0)

    def _list_notes(self, row: int) -> None:
        """List the notes as they are now, and choose one; what was told of others is told no more."""
        self._filling = True
        self.list.clear()
        for table in self.draft.tables:
            self.list.addItem(self._line(table))
        self.list.setCurrentRow(row if self.draft.tables else -1)
        self._filling = False
        self.faults.forget()
        self._show_row()
        self._recorded()

    def _line(self, table: dict[str, object]) -> str:
        zone = self._review.site.zone
        at, text = table.get("at", ""), " ".join(str(table.get("text", "")).split())
        time = clock(instant_of(at, zone), zone) if isinstance(at, datetime) else at
        asks = "? " if table.get("question") else ""
        return f"{time}  {asks}{text[:_SHOWN]}{'…' if len(text) > _SHOWN else ''}"

    def _chosen(self, row: int) -> None:
        if self._filling:
            return
        self.faults.leave(self.draft, self._row)
        self._show_row()
        self._look()
        at = self.draft.tables[row].get("at") if row >= 0 else None
        if isinstance(at, datetime):
            self.went.emit(instant_of(at, self._review.site.zone))

    def _show_row(self) -> None:
        self._row = self.list.currentRow()
        self.form.setEnabled(self._row >= 0)
        self.form.show_table(self.draft.tables[self._row] if self._row >= 0 else {})
        self.faults.arrive(self.draft, self._row)

    def _edited(self) -> None:
        if self._row >= 0:
            before = self.draft.tables[self._row]
            self.draft.put(self._row, self.form.table())
            self.list.item(self._row).setText(self._line(self.draft.tables[self._row]))
            self.faults.edited(self.draft, self._row)
            self._recorded((self._row, typing_key(before, self.draft.tables[self._row])))

    def _head_edited(self, key: str, text: str) -> None:
        before = dict(self.draft.heads)
        self.draft.set_head(key, text.strip())
        self.faults.heads_edited(self.draft)
        self._recorded((-1, typing_key(before, self.draft.heads)))

    def _recorded(self, key: tuple[int, Hashable] = (-1, None)) -> None:
        self.history.record(self.draft.state, None if key[1] is None else key)
        self._look()

    def _look(self) -> None:
        """Say how things stand, and offer what can be done."""
        row, count = self.list.currentRow(), len(self.draft.tables)
        told = self.faults.first
        if told is None:
            self.told.say(None, self._standing())
        else:
            self.told.say("attend" if told.blocks else "note", str(told))
        self.add_button.setEnabled(count < MOST_NOTES)
        for button in (self.remove_button, self.try_button):
            button.setEnabled(row >= 0)
        self.up_button.setEnabled(row > 0)
        self.down_button.setEnabled(0 <= row < count - 1)
        self.undo_button.setEnabled(self.history.can_undo)
        self.redo_button.setEnabled(self.history.can_redo)
        self.save_button.setText(tr("&Save") if self._demo is None else tr("&Save a copy…"))

    def _standing(self) -> str:
        if self._demo is not None and self.draft.tables:
            return tr("These notes came along and stay as they are; with changes, save a copy.")
        if self.changed:
            return tr("Changed and not written yet.")
        return tr("The notes as they are written.") if self.draft.tables else tr("There are no notes yet.")

    def _connect(self) -> None:
        self.which.currentIndexChanged.connect(self.turn_to)
        self.list.currentRowChanged.connect(self._chosen)
        self.form.changed.connect(self._edited)
        for key, field in self.heads.items():
            field.textEdited.connect(lambda text, key=key: self._head_edited(key, text))
        self.keys = UndoKeys(self)
        self.keys.undo.connect(self.undo)
        self.keys.redo.connect(self.redo)
        self.keys.watch((*self.findChildren(QLineEdit), *self.findChildren(QPlainTextEdit)))
        for button, act in (
            (self.add_button, self.add),
            (self.remove_button, self.remove),
            (self.up_button, lambda: self.move(-1)),
            (self.down_button, lambda: self.move(1)),
            (self.undo_button, self.undo),
            (self.redo_button, self.redo),
            (self.try_button, self.try_from_here),
            (self.save_button, self.save),
        ):
            button.clicked.connect(act)
        self.buttons.rejected.connect(self.reject)


def _to_begin_with(places: Sequence[NotesPlace]) -> NotesPlace:
    """The first recording that has notes, else the first."""
    return next((place for place in places if place.packed or place.path.is_file()), places[0])


def _draft(place: NotesPlace) -> NotesDraft:
    return NotesDraft.load(place.path, place.packed)
