"""The notes on one recording, their times settled: what bar and trends show, and what a lesson goes through."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING

from desktop.pack.beside import notes_file
from recordings.errors import SheetError

if TYPE_CHECKING:
    from desktop.teaching.notes import NotesSheet, WrittenNote

PANELS: tuple[str, ...] = ("trends", "limits", "session", "findings")
"""What can be pointed at beside the parts of the diagram."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Asked:
    """A question.

    choices  to choose from; empty where a part of the diagram is to be clicked
    right    the indices of the right choices, or the names of the right parts
    explain  told once it is answered
    """

    ask: str
    choices: tuple[str, ...]
    right: tuple[int | str, ...]
    explain: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """What is said of a moment or, up to `until`, of a span (UTC nanoseconds)."""

    at: int
    text: str
    until: int | None = None
    author: str = ""
    look_at: tuple[str, ...] = ()
    question: Asked | None = None

    @property
    def end(self) -> int:
        """The moment itself, or the end of the span."""
        return self.at if self.until is None else self.until


@dataclass(frozen=True, slots=True)
class Notes:
    """All notes on a recording, in their order. `ours`: they came along, so their texts can be translated."""

    notes: tuple[Note, ...] = ()
    title: str = ""
    about: str = ""
    author: str = ""
    ours: bool = False

    @property
    def asks(self) -> bool:
        """True where it is a lesson that asks something."""
        return any(note.question is not None for note in self.notes)


def load_notes(path: str | Path, first: int, last: int, zone: tzinfo) -> Notes:
    """Read the notes on a recording from `first` to `last` (UTC nanoseconds) at a site with this clock.

    SheetError where the file is wrong, or a note lies outside the recording.
    """
    from desktop.teaching.notes import NotesSheet

    return settled(NotesSheet.load(path), first, last, zone, path)


def settled(sheet: NotesSheet, first: int, last: int, zone: tzinfo, where: str | Path = "") -> Notes:
    """The notes of a sheet, their times as instants. SheetError where one lies outside [first, last]."""
    notes = []
    for number, written in enumerate(sheet.note):
        at = instant_of(written.at, zone)
        until = None if written.until is None else instant_of(written.until, zone)
        for key, instant in (("at", at), ("until", until)):
            if instant is not None and not first <= instant <= last:
                raise SheetError(
                    f"{key} of note {number + 1} lies outside the recording",
                    where=where or sheet.KIND,
                    expected=f"a time from {_stamp(first, zone)} to {_stamp(last, zone)}",
                    found=_stamp(instant, zone),
                )
        if until is not None and until < at:
            raise SheetError(
                f"until of note {number + 1} is before its at",
                where=where or sheet.KIND,
                expected=f"a time after {_stamp(at, zone)}",
                found=_stamp(until, zone),
            )
        notes.append(_settled(written, at, until, sheet.author or ""))
    return Notes(tuple(notes), sheet.title or "", sheet.about or "", sheet.author or "", _came_along(where))


def instant_of(stamp: datetime, zone: tzinfo) -> int:
    """UTC nanoseconds; a time without offset is the zone's."""
    aware = stamp if stamp.tzinfo is not None else stamp.replace(tzinfo=zone)
    return (aware - _EPOCH) // timedelta(microseconds=1) * 1000


def stamp_of(instant: int, zone: tzinfo) -> datetime:
    """An instant (UTC nanoseconds) by the zone's clock, with its offset, to the microsecond."""
    return (_EPOCH + timedelta(microseconds=instant // 1000)).astimezone(zone)


def _settled(written: WrittenNote, at: int, until: int | None, author: str) -> Note:
    asked = written.question
    question = None
    if asked is not None:
        right: Sequence[int | str] = asked.parts or [] if asked.right is None else [asked.right - 1]
        question = Asked(asked.ask, tuple(asked.choices), tuple(right), asked.explain or "")
    return Note(at, written.text, until, written.author or author, tuple(written.look_at), question)


def _stamp(instant: int, zone: tzinfo) -> str:
    try:
        return stamp_of(instant, zone).isoformat(sep=" ")
    except (OverflowError, ValueError):
        return "a time beyond the calendar"


def _came_along(where: str | Path) -> bool:
    from desktop.opening import demos

    return bool(where) and Path(where).resolve() in [notes_file(demo.path).resolve() for demo in demos()]
