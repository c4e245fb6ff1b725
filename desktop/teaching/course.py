"""The course of a lesson: it runs to a moment, stops, asks, goes on to show what happened, and explains."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from desktop.teaching.lesson import Note

Phase = Literal["going", "telling", "asking", "showing", "shown", "over"]
"""going: on the way to the note's moment; telling: there, nothing is asked; asking: there, a question is open;
showing: answered, on the way to what happened; shown: there; over: no notes are left."""

_TRIES = 2
_FEW_CHOICES = 2
"""Of so few answers the second try would be no question any more."""


@dataclass(frozen=True, slots=True)
class Score:
    """How many questions were answered rightly at once, how many at the second try, of how many that were
    answered or passed, of how many."""

    right: int
    second: int
    asked: int
    total: int


@dataclass(frozen=True, slots=True)
class Answer:
    """What was answered in the end.

    given   the index of a choice, or a part of the diagram; None where the question was passed
    right   whether that is right
    missed  the wrong answers before it
    """

    given: int | str | None
    right: bool
    missed: tuple[int | str, ...] = ()


class LessonCourse:
    """Where a lesson stands. It moves nothing itself: whoever shows it runs to `target` and tells of it.

    A wrong answer may be given another try, which is counted as such. A question that was answered isn't asked
    again.

    begin  the index of the note to begin with
    """

    def __init__(self, notes: Sequence[Note], begin: int = 0) -> None:
        self.notes = tuple(notes)
        self.index = begin
        self.phase: Phase = "going" if begin < len(self.notes) else "over"
        self.missed: tuple[int | str, ...] = ()
        """The wrong answers to the open question."""
        self._answers: dict[int, Answer] = {}
        self._reached: int | None = None

    @property
    def note(self) -> Note | None:
        """The note that it is about; None once it is over."""
        return None if self.phase == "over" else self.notes[self.index]

    @property
    def target(self) -> int | None:
        """The instant to run to (UTC nanoseconds); None where it waits for a person."""
        note = self.note
        if note is None or self.phase not in ("going", "showing"):
            return None
        return note.at if self.phase == "going" else note.end

    @property
    def moment(self) -> int | None:
        """The instant that is spoken of (UTC nanoseconds); None on the way, and once it is over."""
        note = self.note
        if note is None or self.target is not None:
            return None
        return note.end if self.phase == "shown" else note.at

    @property
    def hidden_after(self) -> int | None:
        """The instant after which nothing may be seen yet (UTC nanoseconds); None where nothing is hidden.

        While a question is open it is the question's. Else it is as far as the lesson has come, or is to come
        now, as long as any question is left.
        """
        note = self.note
        if note is None:
            return None
        if self.phase == "asking":
            return note.at
        if self.phase != "showing" and not self._asks_later:
            return None
        here = note.end if self.phase in ("showing", "shown") else note.at
        return here if self._reached is None else max(here, self._reached)

    @property
    def _asks_later(self) -> bool:
        ahead = range(self.index, len(self.notes))
        return any(self.notes[one].question is not None and one not in self._answers for one in ahead)

    @property
    def answer_given(self) -> Answer | None:
        """What was answered to the question of this note."""
        return None if self.note is None else self._answers.get(self.index)

    @property
    def score(self) -> Score:
        """How it went so far."""
        total = sum(note.question is not None for note in self.notes)
        answers = self._answers.values()
        right = sum(answer.right and not answer.missed for answer in answers)
        second = sum(answer.right and bool(answer.missed) for answer in answers)
        return Score(right, second, len(answers), total)

    @property
    def first(self) -> bool:
        """True where there is nothing to go back to."""
        return self.index == 0

    @property
    def last(self) -> bool:
        """True where no note follows."""
        return self.index >= len(self.notes) - 1

    def arrive(self) -> None:
        """The target is reached."""
        note, target = self.note, self.target
        if note is None or target is None:
            return
        self._reached = target if self._reached is None else max(target, self._reached)
        if self.phase == "showing":
            self.phase = "shown"
        else:
            asks = note.question is not None
            self.phase = "telling" if not asks else "shown" if self.index in self._answers else "asking"

    def answer(self, given: int | str) -> bool:
        """Answer with the index of a choice or a part of the diagram; whether it is right.

        After the first wrong answer the question stays open for another one. False where no question is open.
        """
        note = self.note
        if note is None or note.question is None or self.phase != "asking" or given in self.missed:
            return False
        right = given in note.question.right
        few = 0 < len(note.question.choices) <= _FEW_CHOICES
        if right or few or len(self.missed) + 1 == _TRIES:
            self._answered(Answer(given, right, self.missed))
        else:
            self.missed = (*self.missed, given)
        return right

    def skip(self) -> None:
        """Wait for nothing: be there at once, pass the question, or go to the next note."""
        if self.target is not None:
            self.arrive()
        elif self.phase == "asking":
            self._answered(Answer(None, False, self.missed))
        else:
            self.go_on()

    def go_on(self) -> None:
        """Go to the next note, where this one is done with."""
        if self.phase not in ("telling", "shown"):
            return
        if self.last:
            self.phase = "over"
        else:
            self._go_to(self.index + 1)

    def back(self) -> None:
        """Go to the note before; from the end, to the last one."""
        if self.phase == "over":
            self._go_to(max(len(self.notes) - 1, 0))
        elif not self.first:
            self._go_to(self.index - 1)

    def end(self) -> None:
        """Stop here."""
        self.phase = "over"

    def _go_to(self, index: int) -> None:
        self.index, self.missed = index, ()
        self.phase = "going" if self.notes else "over"

    def _answered(self, answer: Answer) -> None:
        self._answers[self.index] = answer
        self.missed = ()
        self.phase = "showing"
