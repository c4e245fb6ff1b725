"""A lesson that runs in the window: from moment to moment, and what is held back meanwhile."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QDialog

from desktop.picture.diagram.parts import part_name
from desktop.picture.replay import SPEEDS
from desktop.teaching.course import LessonCourse
from desktop.teaching.lesson import PANELS, Note, Notes
from desktop.teaching.values import Values
from desktop.window.diagram.choosing import PartChooser
from desktop.window.opening import Ready
from desktop.window.teaching.pointing import PanelPointer
from desktop.window.teaching.shown import Shown
from desktop.window.teaching.strip import LessonStrip
from desktop.words import Phrase, tr

if TYPE_CHECKING:
    from desktop.window.board.board import Board
    from desktop.window.main import MainWindow

_SECOND = 1_000_000_000
_RUN_S = 5.0
"""A run to the next moment takes no longer than this."""
_LEAD = 30 * _SECOND
"""Where the moment lies behind, it is run to from so much before it."""


class LessonRun(QObject):
    """One for each window; its parts may be made anew while a lesson runs.

    stepped  something else is hidden now, or nothing any more
    """

    stepped = Signal()

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self._ready: Ready | None = None
        self.notes = Notes()
        self.course: LessonCourse | None = None
        self._seen: int | None = None
        self._speed: int | None = None
        self._arriving = False
        self.strip: LessonStrip
        self.chooser: PartChooser
        self.panels: PanelPointer

    # Parts

    def make_strip(self) -> LessonStrip:
        """A new strip, in the language that is spoken. What was chosen in the one before stays chosen."""
        before = getattr(self, "strip", None)
        self.strip = LessonStrip()
        self.strip.chosen_before = None if before is None else before.choices.chosen
        self.strip.answered.connect(self.answer)
        self.strip.next_asked.connect(self.go_on)
        self.strip.back_asked.connect(self.back)
        self.strip.skip_asked.connect(self.skip)
        self.strip.end_asked.connect(self.end)
        self.strip.return_asked.connect(self.go_back_to_moment)
        return self.strip

    def connect_parts(self) -> None:
        """Follow the window's new board."""
        board = self._board
        self.chooser = PartChooser(board.diagram)
        self.chooser.chosen.connect(self._choose_part)
        self.panels = PanelPointer(board)
        board.cursor_of_time.watch(self.moved)
        board.replay.playing_changed.connect(self._played)
        board.replay.waits.connect(self._wait)
        board.replay.beyond.connect(self._refuse)

    @property
    def _board(self) -> Board:
        return self._window.board

    # What is held back

    @property
    def hidden_after(self) -> int | None:
        """The instant after which nothing may be seen or gone to yet (UTC nanoseconds); None: nothing is hidden."""
        return None if self.course is None else self.course.hidden_after

    @property
    def seen(self) -> int | None:
        """How far anything may be shown so far: as far as the replay has come; None: everything."""
        hidden = self.hidden_after
        return None if hidden is None or self._seen is None else min(hidden, self._seen)

    def holds_back(self) -> bool:
        """Whether what would tell too much is held back now. The strip says so then."""
        if self.hidden_after is None:
            return False
        if self.course.phase == "asking":
            self.strip.tell(tr("That would give it away: it opens once the question is answered."))
        else:
            self.strip.tell(tr("That would give it away: it opens once the lesson has nothing more to ask."))
        return True

    def _why(self) -> str:
        if self.course.phase == "asking":
            return tr("What is found here is told once the question is answered.")
        return tr("What is found here is told once the lesson has nothing more to ask.")

    # From begin to end

    def start(self, notes: Notes, ready: Ready, begin: int = 0) -> None:
        """Begin a lesson on what is open, with the note of an index."""
        self.stop()
        self.notes, self._ready = notes, ready
        self.course = LessonCourse(notes.notes, begin)
        self._speed = self._board.replay.clock.speed
        self._board.replay.clear_loop()
        cursor, at = self._board.cursor_of_time, notes.notes[begin].at
        if cursor.instant > at or begin:
            cursor.move(max(cursor.first, at - _LEAD))
        self._seen = cursor.instant
        if self.hidden_after is not None:
            self._close_tellers()
        self.show()

    def show(self) -> None:
        """Show where the lesson stands, maybe in other parts than before."""
        self.strip.begin(self.title)
        self.strip.show_it(True)
        self._apply()

    def end(self) -> None:
        """Stop the lesson, and show everything."""
        if self.course is not None:
            self.stop()
            self.stepped.emit()
            self._board.sentence.setFocus()

    def stop(self) -> None:
        """Stop the lesson."""
        if self.course is None:
            return
        self.course = None
        self._pause()
        if self._speed is not None:
            self._board.replay.set_speed(self._speed)
        self.chooser.set_choosing(False)
        self.chooser.point_at(())
        self.panels.point_at(())
        self.strip.show_it(False)
        self._board.hide_after(None)
        if self._window.ready is self._ready:
            self._board.sentence.make_room(self._ready.review.findings)
            self._board.sentence.set_foretelling(bool(self._ready.review.sessions))
            self._window.name_it()

    @property
    def title(self) -> str:
        """What the lesson is called."""
        title = self.notes.title or tr("Notes")
        return tr(title) if self.notes.ours else title

    def _close_tellers(self) -> None:
        """What is open beside the window may tell what is asked. Only what is being written stays."""
        editor, sheet = self._window.teaching.editor, self._window.sheet.dialog
        for dialog in self._window.findChildren(QDialog):
            if dialog.isVisible() and dialog not in (editor, sheet):
                dialog.close()

    # What a person does

    def answer(self, given: int | str) -> None:
        """The open question is answered."""
        if self.course is not None and self.course.phase == "asking":
            self.course.answer(given)
            self._apply()

    def go_on(self) -> None:
        """Be at once where the replay runs to, or go to the next note."""
        course = self.course
        if course is None:
            return
        if course.target is not None:
            self._board.cursor_of_time.move(course.target)
            self.moved(self._board.cursor_of_time.instant)
        else:
            course.go_on()
            self._apply()

    def back(self) -> None:
        """Go to the note before; from the end, begin again."""
        if self.course is None:
            return
        if self.course.phase == "over":
            self.start(self.notes, self._ready)
        else:
            self.course.back()
            self._apply()

    def skip(self) -> None:
        """Wait for nothing, or pass the question."""
        if self.course is not None:
            self.course.skip()
            self._apply()

    def go_back_to_moment(self) -> None:
        """Show again the moment that is spoken of."""
        if self.course is not None and self.course.moment is not None:
            self._pause()
            self._board.cursor_of_time.move(self.course.moment)
            self._take_focus()

    def _choose_part(self, part: str) -> None:
        question = self.course.note.question if self.course and self.course.note else None
        if question is not None and not question.choices:
            self.answer(part)

    # Showing

    def _apply(self) -> None:
        """Show where the lesson stands, and run to where it leads."""
        course, note = self.course, self.course.note
        self._hide()
        self.chooser.set_choosing(self._asks_part)
        pointed = _pointed(course)
        self.chooser.point_at(place for place in pointed if place not in PANELS)
        self.panels.point_at(pointed, self._board.diagram if self._asks_part else None)
        self._tell()
        self.stepped.emit()
        if course.target is not None:
            self._run_to(course.target)
            return
        self._pause()
        if note is not None and self._board.cursor_of_time.instant != course.moment:
            self._tell_away()
        self._take_focus()

    @property
    def _asks_part(self) -> bool:
        course = self.course
        return course.phase == "asking" and not course.note.question.choices

    def _hide(self) -> None:
        hidden = self.hidden_after
        self._board.hide_after(hidden, self.seen, "" if hidden is None else self._why())
        self._window.name_it("" if hidden is None else self.title)
        # Each moment has words of its own: no room is kept free for those before, or for what isn't told meanwhile.
        self._board.sentence.make_room(())
        self._board.sentence.set_foretelling(False)

    def _tell(self) -> None:
        playing = self._board.replay.clock.playing
        self.strip.show_course(self.course, self._shown(self.course.note), playing)

    def _take_focus(self) -> None:
        if self._asks_part:
            self._board.diagram.setFocus()
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
        choices = tuple(map(told, asked.choices))
        names = {part: part_name(part) for part in (*asked.right, *self._given()) if isinstance(part, str)}
        return Shown(told(note.text), told(asked.ask), choices, told(asked.explain), names)

    def _given(self) -> tuple[int | str | None, ...]:
        answer = self.course.answer_given
        return self.course.missed if answer is None else (answer.given, *answer.missed)

    # Running

    def _run_to(self, target: int) -> None:
        replay, cursor = self._board.replay, self._board.cursor_of_time
        if cursor.instant > target:
            cursor.move(max(cursor.first, target - _LEAD))
        if cursor.instant >= target:
            self.moved(cursor.instant)
            return
        way = (target - cursor.instant) / _SECOND
        replay.set_speed(next((speed for speed in SPEEDS if way / speed <= _RUN_S), SPEEDS[-1]))
        if not replay.clock.playing:
            replay.toggle()

    def moved(self, instant: int) -> None:
        """The cursor stands elsewhere; it may have reached the moment that it ran to."""
        course = self.course
        if self._arriving or course is None:
            return
        self._see(instant)
        if course.target is None:
            self._tell_away()
            return
        if instant < course.target:
            return
        self._arriving = True
        self._pause()
        self._board.cursor_of_time.move(course.target)
        # Where the cursor stood there already, the replay hasn't been told.
        self._board.replay.set_instant(course.target)
        self._arriving = False
        course.arrive()
        self._apply()

    def _see(self, instant: int) -> None:
        """The replay has come so far: curves and notes are shown up to there."""
        if self.hidden_after is None or (self._seen is not None and instant <= self._seen):
            return
        before, self._seen = self._seen, instant
        self._board.hide_after(self.hidden_after, self.seen, self._why())
        if any(before is None or before < note.at <= instant for note in self.notes.notes):
            self.stepped.emit()

    def _tell_away(self) -> None:
        """Say that the window shows another moment than the one that is spoken of, where it does."""
        moment = self.course.moment
        if moment is None or moment == self._board.cursor_of_time.instant:
            self.strip.tell_away("")
            return
        zone = self._ready.review.site.zone
        told = Phrase("The window shows another time than {at:clock}, which this is about.", zone, at=moment)
        self.strip.tell_away(str(told))

    def _played(self) -> None:
        if self.course is not None and self.course.target is not None and not self._arriving:
            self._tell()

    def _wait(self) -> None:
        if self.course is None:
            return
        if self.course.phase == "asking":
            self.strip.tell(tr("The replay waits here until the question is answered."))
        else:
            self.strip.tell(tr("The replay waits here: the lesson leads on from this moment."))

    def _refuse(self, instant: int) -> None:
        if self.course is not None:
            zone = self._ready.review.site.zone
            told = Phrase("{at:clock} is still to come: the lesson leads there.", zone, at=instant)
            self.strip.tell(str(told))

    def _pause(self) -> None:
        if self._board.replay.clock.playing:
            self._board.replay.toggle()


def _pointed(course: LessonCourse) -> tuple[str, ...]:
    """The parts to outline: those that the note is about; those that were right once a click is answered."""
    note = course.note
    if note is None or course.phase == "going":
        return ()
    if course.answer_given is not None and note.question is not None and not note.question.choices:
        panels = (place for place in note.look_at if place in PANELS)
        return (*map(str, note.question.right), *panels)
    return note.look_at
