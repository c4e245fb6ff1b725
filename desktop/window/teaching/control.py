"""Brings notes and lessons into the window: flags, marks, the running lesson, and the editor."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog

from desktop.opening import Demo
from desktop.pack.beside import notes_beside, notes_file
from desktop.picture.diagram.parts import part_name
from desktop.teaching.course import LessonCourse
from desktop.teaching.lesson import Notes
from desktop.teaching.values import Values
from desktop.window.opening import Ready, Wanted
from desktop.window.replay.track import Note as Mark
from desktop.window.teaching.flags import Flag, NoteFlags
from desktop.window.teaching.running import LessonRun
from desktop.window.teaching.strip import LessonStrip
from desktop.words import tr
from recordings.errors import HeadraceError

if TYPE_CHECKING:
    from PySide6.QtWidgets import QDialog

    from desktop.teaching.belonging import NotesPlace
    from desktop.window.board.board import Board
    from desktop.window.main import MainWindow
    from desktop.window.teaching.editor import NotesDialog


class Teaching(QObject):
    """What the window does with the notes on its recording. One for each window; its parts may be made anew."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self._ready: Ready | None = None
        self.notes = Notes()
        self.places: tuple[NotesPlace, ...] = ()
        self.run = LessonRun(window)
        self.run.stepped.connect(self._show_notes)
        self.editor: NotesDialog | None = None
        self._pending: Path | None = None
        self.flags: NoteFlags

    @property
    def course(self) -> LessonCourse | None:
        """Where the lesson stands that runs; None where none does."""
        return self.run.course

    # Parts

    def make_parts(self) -> LessonStrip:
        """A new strip, in the language that is spoken."""
        return self.run.make_strip()

    def connect_parts(self) -> None:
        """Follow the window's new board."""
        self.flags = NoteFlags(self._board.trends)
        self.run.connect_parts()
        self._board.cursor_of_time.watch(lambda _: self.flags.refresh())

    @property
    def _board(self) -> Board:
        return self._window.board

    # What is open

    def follow(self, ready: Ready | None) -> None:
        """Something is shown: another recording, or the same once more. None: something that grows."""
        if ready is not self._ready:
            self._ready = ready
            self.run.stop()
            self._load()
        self._show_notes()
        if self.course is not None:
            self.run.show()
        elif self._pending is not None and self._path() == self._pending:
            self.start()
        self._pending = None if ready is not None else self._pending
        self._window.menus.set_notes(bool(self.notes.notes), bool(self.places))
        if self.editor is not None:
            self.editor.follow(self._writable())

    def _path(self) -> Path | None:
        wanted = self._ready.wanted if self._ready is not None else None
        return wanted.paths[0] if wanted is not None and len(wanted.paths) == 1 else None

    def _load(self) -> None:
        """The notes on what is open: each file's own, beside it or in the pack that it is."""
        self.notes, self.places = Notes(), ()
        wanted = self._ready.wanted if self._ready is not None else None
        if wanted is None:
            return
        # What reads notes is needed only where a recording is open.
        from desktop.teaching.belonging import notes_in, places_of

        time, zone = self._ready.review.recording.time, self._ready.review.site.zone
        try:
            self.places = places_of(wanted.paths)
        except HeadraceError as error:
            self._window.notice.show_error(str(error))
            return
        self.notes, faults = notes_in(self.places, int(time[0]), int(time[-1]), zone)
        if faults:
            self._window.notice.show_error(str(faults[0]))

    def _writable(self) -> tuple[NotesPlace, ...]:
        """The notes that can be edited: those in a pack of several recordings can't."""
        return tuple(place for place in self.places if place.path is not None)

    def load_again(self) -> None:
        """The notes were written anew."""
        self.end()
        self._load()
        self._show_notes()
        self._window.menus.set_notes(bool(self.notes.notes), bool(self.places))

    def _show_notes(self) -> None:
        if self._ready is None:
            self.flags.set_flags([], room=False)
            return
        notes = self.notes if self.course is None else self.run.notes
        seen = self.run.seen
        flags = []
        for note in notes.notes:
            if seen is None or note.at <= seen:
                end = note.end if seen is None else min(note.end, seen)
                text = Values(self._ready.review, note).filled(note.text, ours=notes.ours)
                flags.append(Flag(note.at, end, text))
        self.flags.set_flags(flags, room=bool(notes.notes))
        self.flags.set_quiet(self.course is not None)
        marks = [Mark(flag.at, flag.text) for flag in flags]
        self._board.replay.set_findings(self._ready.trends.bands, marks)

    # From note to note

    def next_note(self) -> None:
        """Go to the next note."""
        self._step(
            [note.at for note in self.notes.notes if note.at > self._board.cursor_of_time.instant], min
        )

    def previous_note(self) -> None:
        """Go to the note before."""
        self._step(
            [note.at for note in self.notes.notes if note.at < self._board.cursor_of_time.instant], max
        )

    def _step(self, instants: list[int], pick: Callable[[list[int]], int]) -> None:
        if instants:
            self._board.cursor_of_time.move(pick(instants))

    # The lesson

    def open_lesson(self, demo: Demo) -> None:
        """Open a demo recording, and begin its lesson."""
        if self._path() == demo.path:
            self.start()
            return
        self._pending = demo.path
        self._window.open_paths(Wanted((demo.path,)))

    def start(self) -> None:
        """Begin the lesson of what is open."""
        if not self.notes.notes:
            return
        if self.editor is not None and not self.editor.changed:
            self.editor.close()
        self.run.start(self.notes, self._ready)
        # What knows how notes are written is needed only where a lesson is gone through.
        from desktop.teaching.faults import first_fault

        fault = first_fault(self.notes.notes, self._ready.review, part_name)
        if fault is not None:
            self._window.notice.show_error(str(fault))

    def try_from(self, notes: Notes, index: int) -> None:
        """Begin a lesson that is being written with one of its notes."""
        if self._ready is not None:
            self.run.start(notes, self._ready, index)

    def end(self) -> None:
        """Stop the lesson, and show everything."""
        self.run.end()

    def holds_back(self) -> bool:
        """Whether a lesson has still something to ask, so that what would tell it can't be opened; it says so."""
        return self.run.holds_back()

    # The editor

    def show_editor(self) -> QDialog | None:
        """Let the user write and edit the notes on what is open."""
        if self.editor is None:
            if self.holds_back():
                return None
            places = self._writable()
            if not places:
                self._window.notice.show_error(_why_not(self.places))
                return None
            # Few write notes, and the form has many parts.
            from desktop.window.teaching.editor import NotesDialog

            wanted = self._ready.wanted
            demo = wanted.paths[0] if self._window.is_demo(wanted) else None
            try:
                self.editor = NotesDialog(places, self._ready.review, self._here, demo, self._window)
            except HeadraceError as error:
                self._window.notice.show_error(str(error))
                return None
            self.editor.went.connect(self._go)
            self.editor.written.connect(self.load_again)
            self.editor.try_asked.connect(self.try_from)
            self.editor.copy_asked.connect(self._ask_copy)
            self.editor.copied.connect(lambda copy: self._window.open_paths(Wanted((copy,))))
            self.editor.finished.connect(self._forget_editor)
        self.editor.show()
        self.editor.raise_()
        self.editor.activateWindow()
        return self.editor

    def _ask_copy(self) -> None:
        """Let the user choose where a copy of the recording goes, with the notes."""
        if self.editor is None:
            return
        dialog = self._window.file_dialog(tr("Save a copy with these notes"), [tr("Recordings (*.csv)")])
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix("csv")
        dialog.selectFile(self.editor.place.recording)
        dialog.fileSelected.connect(lambda name: self.editor and self.editor.copy_to(Path(name)))
        dialog.open()

    def lessons(self) -> list[tuple[Demo, str]]:
        """The demos that have a lesson, with its title in the language that is spoken."""
        found = []
        for demo in self._window.demos:
            if notes_beside(demo.path) is not None:
                from desktop.teaching.notes import NotesSheet

                sheet = NotesSheet.load(notes_file(demo.path))
                found.append((demo, tr(sheet.title or demo.title)))
        return found

    def _here(self) -> int:
        return self._board.cursor_of_time.instant

    def _go(self, instant: int) -> None:
        self._board.cursor_of_time.move(instant)

    def _forget_editor(self) -> None:
        self.editor = None


def _why_not(places: tuple[NotesPlace, ...]) -> str:
    """Why there are no notes that could be edited."""
    if not places:
        return tr("Notes belong to a recording: open it from its file first.")
    return tr("The notes in a pack of several recordings stay as they are: unpack it to write others.")
