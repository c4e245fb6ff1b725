"""The course of a lesson: it runs to a moment, stops, asks, explains, and goes on to show what happened."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from desktop.teaching.lesson import Note

Phase = Literal["going", "telling", "asking", "showing", "shown", "over"]
"""going: on the way to the note's moment; telling: there, nothing is asked; asking: there, a question is open;
showing: answered, on the way to what happened; shown: there; over: no notes are left."""


@dataclass(frozen=True, slots=True)
class Score:
    """How many questions were answered rightly, of how many that were answered or passed, of how many."""

    right: int
    asked: int
    total: int


@dataclass(frozen=True, slots=True)
class Answer:
    """What was answered: the index of a choice, or a part of the diagram; None where the question was passed."""

    given: int | str | None
    right: bool


class LessonCourse:
    """Where a lesson stands. It moves nothing itself: whoever shows it runs to `target` and tells of it.

    Only the first answer to a question counts; a question that was answered isn't asked again.
    """

    def __init__(self, notes: Sequence[Note]) -> None:
        self.notes = tuple(notes)
        self.index = 0
        self.phase: Phase = "going" if self.notes else "over"
        self._answers: dict[int, Answer] = {}

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
    def hidden_after(self) -> int | None:
        """The instant after which nothing may be seen yet (UTC nanoseconds); None where nothing is hidden.

        While a question is open it is the question's; before that, the next question's.
        """
        note = self.note
        if note is None:
            return None
        if self.phase == "asking":
            return note.at
        seen = note.end if self.phase in ("showing", "shown") else note.at
        ahead = (
            other.at
            for number, other in enumerate(self.notes[self.index :], self.index)
            if other.question is not None and number not in self._answers
        )
        following = next(ahead, None)
        return None if following is None else max(following, seen)

    @property
    def answer_given(self) -> Answer | None:
        """What was answered to the question of this note."""
        return self._answers.get(self.index)

    @property
    def score(self) -> Score:
        """How it went so far."""
        total = sum(note.question is not None for note in self.notes)
        return Score(sum(each.right for each in self._answers.values()), len(self._answers), total)

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
        note = self.note
        if note is None:
            return
        if self.phase == "showing":
            self.phase = "shown"
        elif self.phase == "going":
            asks = note.question is not None
            self.phase = "telling" if not asks else "shown" if self.index in self._answers else "asking"

    def answer(self, given: int | str) -> bool:
        """Answer with the index of a choice or a part of the diagram; whether it is right.

        False where no question is open.
        """
        note = self.note
        if note is None or note.question is None or self.phase != "asking":
            return False
        right = given in note.question.right
        self._answers[self.index] = Answer(given, right)
        self.phase = "showing"
        return right

    def skip(self) -> None:
        """Wait for nothing: be there at once, pass the question, or go to the next note."""
        if self.phase in ("going", "showing"):
            self.arrive()
        elif self.phase == "asking":
            self._answers[self.index] = Answer(None, False)
            self.phase = "showing"
        else:
            self.go_on()

    def go_on(self) -> None:
        """Go to the next note, where this one is done with."""
        if self.phase not in ("telling", "shown"):
            return
        if self.last:
            self.phase = "over"
        else:
            self.index += 1
            self.phase = "going"

    def back(self) -> None:
        """Go to the note before; from the end, to the last one."""
        if self.phase == "over":
            self.index = max(len(self.notes) - 1, 0)
            self.phase = "going" if self.notes else "over"
        elif not self.first:
            self.index -= 1
            self.phase = "going"

    def end(self) -> None:
        """Stop here."""
        self.phase = "over"
