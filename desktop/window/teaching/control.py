"""Brings notes and lessons into the window: flags, marks, the running lesson, and the editor."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog

from desktop.opening import Demo
from desktop.picture.replay import SPEEDS
from desktop.teaching.course import LessonCourse
from desktop.teaching.lesson import Note, Notes, load_notes, notes_beside, notes_file
from desktop.teaching.values import Values
from desktop.window.diagram.choosing import PartChooser
from desktop.window.opening import Ready, Wanted
from desktop.window.replay.track import Note as Mark
from desktop.window.teaching.flags import Flag, NoteFlags
from desktop.window.teaching.strip import LessonStrip, Shown
from desktop.words import tr
from recordings.errors import HeadraceError

if TYPE_CHECKING:
    from PySide6.QtWidgets import QDialog

    from desktop.window.board.board import Board
    from desktop.window.main import MainWindow
    from desktop.window.teaching.editor import NotesDialog

_SECOND = 1_000_000_000
_RUN_S = 5.0
"""A run to the next moment takes no longer than this."""
_LEAD = 30 * _SECOND
"""Where the moment lies behind, it is run to from so much before it."""


class Teaching(QObject):
    """What the window does with the notes on its recording. One for each window; its parts may be made anew."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self._ready: Ready | None = None
        self.notes = Notes()
        self.course: LessonCourse | None = None
        self.editor: NotesDialog | None = None
        self._pending: Path | None = None
        self._speed: int | None = None
        self._arriving = False
        self.strip: LessonStrip
        self.flags: NoteFlags
        self.chooser: PartChooser

    # Parts

    def make_parts(self) -> LessonStrip:
        """A new strip, in the language that is spoken."""
        self.strip = LessonStrip()
        self.strip.answered.connect(self._answer)
        self.strip.next_asked.connect(self._next)
        self.strip.back_asked.connect(self._back)
        self.strip.skip_asked.connect(self._skip)
        self.strip.end_asked.connect(self.end)
        return self.strip

    def connect_parts(self) -> None:
        """Follow the window's new board."""
        board = self._board
        self.flags = NoteFlags(board.trends)
        self.chooser = PartChooser(board.diagram)
        self.chooser.chosen.connect(self._choose_part)
        board.cursor_of_time.watch(self._moved)

    @property
    def _board(self) -> Board:
        return self._window.board

    # What is open

    def follow(self, ready: Ready | None) -> None:
        """Something is shown: another recording, or the same once more. None: something that grows."""
        if ready is not self._ready:
            self._ready = ready
            self._stop()
            self.notes = self._loaded()
        self._show_notes()
        if self.course is not None:
            self.strip.begin(self._title())
            self.strip.show_it(True)
            self._apply()
        elif self._pending is not None and self._path() == self._pending:
            self.start()
        self._pending = None if ready is not None else self._pending
        self._window.menus.set_notes(bool(self.notes.notes), self._path() is not None)
        if self.editor is not None:
            self.editor.follow(self._path())

    def _path(self) -> Path | None:
        wanted = self._ready.wanted if self._ready is not None else None
        return wanted.paths[0] if wanted is not None and len(wanted.paths) == 1 else None

    def _loaded(self) -> Notes:
        path = self._path()
        file = None if path is None else notes_beside(path)
        if file is None:
            return Notes()
        time, zone = self._ready.review.recording.time, self._ready.review.site.zone
        try:
            return load_notes(file, int(time[0]), int(time[-1]), zone)
        except HeadraceError as error:
            self._window.notice.show_error(str(error))
            return Notes()

    def load_again(self) -> None:
        """The notes were written anew."""
        self.end()
        self.notes = self._loaded()
        self._show_notes()
        self._window.menus.set_notes(bool(self.notes.notes), self._path() is not None)

    def _show_notes(self) -> None:
        if self._ready is None:
            self.flags.set_flags([])
            return
        hidden = self.course.hidden_after if self.course is not None else None
        seen = [note for note in self.notes.notes if hidden is None or note.at <= hidden]
        flags = [
            Flag(
                note.at, note.end if hidden is None else min(note.end, hidden), self._filled(note, note.text)
            )
            for note in seen
        ]
        self.flags.set_flags(flags)
        self.flags.set_quiet(self.course is not None)
        marks = [Mark(flag.at, flag.text) for flag in flags]
        self._board.replay.set_findings(self._ready.trends.bands, marks)

    def _filled(self, note: Note, text: str) -> str:
        return Values(self._ready.review, note).filled(text, ours=self.notes.ours)

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
        self._stop()
        self.course = LessonCourse(self.notes.notes)
        self._speed = self._board.replay.clock.speed
        self._board.replay.clear_loop()
        self.strip.begin(self._title())
        self.strip.show_it(True)
        cursor = self._board.cursor_of_time
        if cursor.instant > self.notes.notes[0].at:
            cursor.move(max(cursor.first, self.notes.notes[0].at - _LEAD))
        self._apply()

    def end(self) -> None:
        """Stop the lesson, and show everything."""
        was_on = self.course is not None
        self._stop()
        if was_on:
            self._show_notes()
            self._board.sentence.setFocus()

    def _title(self) -> str:
        title = self.notes.title or tr("Notes")
        return tr(title) if self.notes.ours else title

    def _stop(self) -> None:
        if self.course is None:
            return
        self.course = None
        self._pause()
        if self._speed is not None:
            self._board.replay.set_speed(self._speed)
        self.chooser.set_choosing(False)
        self.chooser.point_at(())
        self.strip.show_it(False)
        self._board.hide_after(None)

    def _answer(self, given: int | str) -> None:
        if self.course is not None and self.course.phase == "asking":
            self.course.answer(given)
            self._apply()

    def _choose_part(self, part: str) -> None:
        question = self.course.note.question if self.course and self.course.note else None
        if question is not None and not question.choices:
            self._answer(part)

    def _next(self) -> None:
        course = self.course
        if course is None:
            return
        if course.target is not None:
            self._board.cursor_of_time.move(course.target)
            self._moved(self._board.cursor_of_time.instant)
        else:
            course.go_on()
            self._apply()

    def _back(self) -> None:
        if self.course is None:
            return
        if self.course.phase == "over":
            self.start()
        else:
            self.course.back()
            self._apply()

    def _skip(self) -> None:
        if self.course is not None:
            self.course.skip()
            self._apply()

    def _apply(self) -> None:
        """Show where the lesson stands, and run to where it leads."""
        course, board = self.course, self._board
        note = course.note
        board.hide_after(course.hidden_after)
        self._show_notes()
        asks_part = course.phase == "asking" and not note.question.choices
        self.chooser.set_choosing(asks_part)
        self.chooser.point_at(_pointed(course))
        self.strip.show_course(course, self._shown(note))
        if course.target is not None:
            self._run_to(course.target)
            return
        self._pause()
        if asks_part:
            board.diagram.setFocus()
        else:
            self.strip.take_focus()

    def _shown(self, note: Note | None) -> Shown:
        if note is None:
            return Shown("")
        asked, values = note.question, Values(self._ready.review, note)

        def told(text: str) -> str:
            return values.filled(text, ours=self.notes.ours)

        if asked is None:
            return Shown(told(note.text))
        return Shown(told(note.text), told(asked.ask), tuple(map(told, asked.choices)), told(asked.explain))

    # Running

    def _run_to(self, target: int) -> None:
        replay, cursor = self._board.replay, self._board.cursor_of_time
        if cursor.instant > target:
            cursor.move(max(cursor.first, target - _LEAD))
        if cursor.instant >= target:
            self._moved(cursor.instant)
            return
        way = (target - cursor.instant) / _SECOND
        replay.set_speed(next((speed for speed in SPEEDS if way / speed <= _RUN_S), SPEEDS[-1]))
        if not replay.clock.playing:
            replay.toggle()

    def _moved(self, instant: int) -> None:
        """The cursor stands elsewhere; it may have reached the moment that it ran to."""
        self.flags.refresh()
        course = self.course
        if self._arriving or course is None or course.target is None or instant < course.target:
            return
        self._arriving = True
        self._pause()
        self._board.cursor_of_time.move(course.target)
        # Where the cursor stood there already, the replay hasn't been told.
        self._board.replay.set_instant(course.target)
        self._arriving = False
        course.arrive()
        self._apply()

    def _pause(self) -> None:
        if self._board.replay.clock.playing:
            self._board.replay.toggle()

    # The editor

    def show_editor(self) -> QDialog | None:
        """Let the user write and edit the notes on what is open."""
        path = self._path()
        if path is None:
            self._window.notice.show_error(tr("Notes belong to one recording: open it from its file first."))
            return None
        if self.editor is None:
            # Few write notes, and the form has many parts.
            from desktop.window.teaching.editor import NotesDialog

            try:
                self.editor = NotesDialog(
                    path, self._ready.review, self._here, self._window.is_demo(Wanted((path,))), self._window
                )
            except HeadraceError as error:
                self._window.notice.show_error(str(error))
                return None
            self.editor.went.connect(self._go)
            self.editor.written.connect(self.load_again)
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
        dialog.selectFile(self.editor.recording.name)
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


def _pointed(course: LessonCourse) -> tuple[str, ...]:
    """The parts to outline: those that the note is about; those that were right once a click is answered."""
    note = course.note
    if note is None or course.phase == "going":
        return ()
    if course.answer_given is not None and note.question is not None and not note.question.choices:
        return tuple(str(part) for part in note.question.right)
    return note.look_at
