"""What is shown of a lesson's note, and the words for how a question was answered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from desktop.teaching.course import Answer, LessonCourse, Score
from desktop.words import Phrase, tr


@dataclass(frozen=True, slots=True)
class Shown:
    """A note with its values filled in.

    names  what the parts of the diagram are called that are right, or were clicked
    """

    text: str
    ask: str = ""
    choices: tuple[str, ...] = ()
    explain: str = ""
    names: Mapping[int | str | None, str] = field(default_factory=dict)


def missed(course: LessonCourse, shown: Shown) -> str:
    """What is said of a wrong answer after which there is another try; "" where there was none."""
    if not course.missed:
        return ""
    if shown.choices:
        return tr("Not quite. You have one more try.")
    clicked = shown.names.get(course.missed[-1], "")
    return str(Phrase("Not quite: that is “{part}”. You have one more try.", part=clicked))


def verdict(course: LessonCourse, answer: Answer, shown: Shown) -> str:
    """How it was answered in the end, and what would have been right."""
    if answer.right:
        return tr("Right, at the second try.") if answer.missed else tr("Right.")
    if shown.choices:
        return (
            tr("Passed; the right answer is marked.")
            if answer.given is None
            else tr("Not quite; the right answer is marked.")
        )
    note = course.note
    right = note.question.right[0] if note is not None and note.question is not None else None
    meant = shown.names.get(right, "")
    if answer.given is None:
        return str(Phrase("Passed. Right is “{part}”, outlined in the diagram.", part=meant))
    clicked = shown.names.get(answer.given, "")
    return str(
        Phrase(
            "Not quite: that is “{clicked}”. Right is “{part}”, outlined in the diagram.",
            clicked=clicked,
            part=meant,
        )
    )


def summary(score: Score) -> str:
    """How the whole lesson went."""
    if not score.total:
        return tr("The end of the notes.")
    right, total = str(score.right), str(score.total)
    if not score.second:
        return str(
            Phrase("The end of the lesson. Answered rightly: {right} of {total}.", right=right, total=total)
        )
    return str(
        Phrase(
            "The end of the lesson. Answered rightly: {right} of {total} at once, {second} at the second try.",
            right=right,
            total=total,
            second=str(score.second),
        )
    )
