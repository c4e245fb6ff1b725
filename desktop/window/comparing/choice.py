"""What can stand on either side of a comparison, and what stands there at first. Qt-free."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import tzinfo

from desktop.review import Review
from desktop.words import Phrase, local
from recordings.errors import printable


@dataclass(frozen=True, slots=True)
class Choice:
    """A recording with all its charge sessions, or one of these.

    session  its number, from 1; None for all of them
    """

    review: Review
    session: int | None
    label: Phrase

    @property
    def start(self) -> int:
        """When it begins, UTC nanoseconds."""
        if self.session is None:
            return int(self.review.recording.time[0])
        return self.review.sessions[self.session - 1].start


def choices_of(reviews: Sequence[Review]) -> list[Choice]:
    """Each recording as a whole, and each of its sessions where it has several."""
    return [choice for review in reviews for choice in _of(review)]


def usual(choices: Sequence[Choice]) -> tuple[int, int]:
    """Which two are compared at first, the earlier one before the later: two recordings as they are, else the
    first and the last session of the one that there is.
    """
    whole = [index for index, choice in enumerate(choices) if choice.session is None]
    if len(whole) < 2:
        return (1, len(choices) - 1) if len(choices) > 2 else (0, 0)
    before, after = sorted(whole[:2], key=lambda index: choices[index].start)
    return before, after


def _of(review: Review) -> list[Choice]:
    zone, sessions = review.site.zone, review.sessions
    name = printable(review.recording.provenance.name)
    day = _stamp(int(review.recording.time[0]), zone)[:10]
    if len(sessions) < 2:
        return [Choice(review, None, Phrase("{name} · {day}", name=name, day=day))]
    every = Phrase("{name} · {day} · all {count:d} sessions", name=name, day=day, count=len(sessions))
    each = [
        Choice(
            review,
            number,
            Phrase(
                "{name} · session {number:d} · {stamp} · {span:time}",
                name=name,
                number=number,
                stamp=_stamp(one.start, zone),
                span=(one.end - one.start) / 1e9,
            ),
        )
        for number, one in enumerate(sessions, start=1)
    ]
    return [Choice(review, None, every), *each]


def _stamp(instant: int, zone: tzinfo) -> str:
    return f"{local(instant, zone):%Y-%m-%d %H:%M}"
