"""Notes on a recording as a person writes them: a small TOML file beside it, text only, read strictly.

title = "What tripped it"        # all of these are optional
about = "For those who start it."
author = "A. Person"

[[note]]
at = 2025-01-22T17:23:59         # by the site's clock where no offset is given
until = 2025-01-22T17:24:18      # a span; of a question: until when it is shown what happened
text = "It carries {generator}." # {…} quotes a value of the moment, see `values`
look_at = ["generator"]          # parts of the diagram, or panels, that are pointed out

[note.question]
ask = "What comes next?"
choices = ["It trips.", "Nothing."]
right = 1                        # or, in place of choices and right: parts = ["battery", …] to be clicked
explain = "…"
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any, ClassVar, Self

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo, field_validator
from pydantic_core import PydanticCustomError

from desktop.flow.streams import STREAMS
from desktop.teaching.characters import refused_character
from desktop.teaching.lesson import PANELS
from recordings.errors import SheetError
from recordings.sheets import Section, Sheet, nearest

LARGEST_FILE = 1 << 20
"""Bytes; a file of notes is written by hand."""

MOST_NOTES, MOST_CHOICES = 200, 6
MOST_IN_TEXT, MOST_IN_LINE = 2000, 200
"""Characters."""

PARTS: tuple[str, ...] = (*STREAMS, "converter", "ac", "dc", "both")
"""What can be pointed at in the diagram: streams, the inverter-charger, and the places of GAPS (a bus, and what
is missing there)."""


def _words(value: str) -> str:
    lines = [" ".join(line.split()) for line in value.strip().split("\n")]
    text = "\n".join(lines)
    _check("".join(lines), len(text), f"plain text of 1 to {MOST_IN_TEXT} characters", MOST_IN_TEXT)
    return text


def _line(value: str) -> str:
    text = " ".join(value.split())
    _check(text, len(text), f"plain text on one line, of 1 to {MOST_IN_LINE} characters", MOST_IN_LINE)
    return text


def _check(text: str, length: int, expected: str, most: int) -> None:
    refused = refused_character(text)
    if refused:
        raise ValueError(f"{expected}, without {refused}")
    if not 0 < length <= most:
        raise ValueError(expected)


def _part(value: str) -> str:
    if value not in PARTS:
        raise ValueError(f"a part of the diagram ({nearest(value, PARTS)})")
    return value


def _place(value: str) -> str:
    if value not in (*PARTS, *PANELS):
        raise ValueError(f"a part of the diagram or a panel ({nearest(value, (*PARTS, *PANELS))})")
    return value


def _some(least: int, most: int) -> Callable[[Any], Any]:
    def check(value: Any) -> Any:
        if isinstance(value, list) and not least <= len(value) <= most:
            raise ValueError(f"{least} to {most} of them, not {len(value)}")
        return value

    return check


def _whole(value: Any) -> Any:
    if value is not None and (isinstance(value, bool) or not isinstance(value, int)):
        raise ValueError("a whole number without quotes")
    return value


def _moment(value: Any) -> Any:
    if not isinstance(value, datetime):
        raise ValueError("date and time without quotes, such as 2026-02-14T14:03:20Z, or local without Z")
    return value


Line = Annotated[str, AfterValidator(_line)]
Words = Annotated[str, AfterValidator(_words)]
PartName = Annotated[str, AfterValidator(_part)]
PlaceName = Annotated[str, AfterValidator(_place)]
Instant = Annotated[datetime, BeforeValidator(_moment)]


class Question(Section):
    """What is asked: to choose one answer (`right` counts from 1), or to click a part of the diagram."""

    ask: Line
    choices: Annotated[list[Line], BeforeValidator(_some(2, MOST_CHOICES))] = Field(default_factory=list)
    right: Annotated[int | None, BeforeValidator(_whole)] = Field(default=None, validate_default=True)
    parts: Annotated[list[PartName], BeforeValidator(_some(1, len(PARTS)))] | None = Field(
        default=None, validate_default=True
    )
    explain: Words | None = None

    @field_validator("right")
    @classmethod
    def _one_of_them(cls, value: int | None, info: ValidationInfo) -> int | None:
        choices = info.data.get("choices")
        if choices and value is None:
            raise PydanticCustomError("missing", "which is right")
        if choices is not None and value is not None and not 1 <= value <= len(choices):
            right = f"the number of one of the choices, 1 to {len(choices)}" if choices else "choices with it"
            raise ValueError(right)
        return value

    @field_validator("parts")
    @classmethod
    def _or_choices(cls, value: list[str] | None, info: ValidationInfo) -> list[str] | None:
        choices = info.data.get("choices")
        if choices is not None and not choices and value is None:
            raise PydanticCustomError("missing", "what to choose from")
        if choices and value is not None:
            raise ValueError("either choices or parts to be clicked, not both")
        return value


class WrittenNote(Section):
    """A note as it stands in the file; times without offset are the site's."""

    at: Instant
    until: Instant | None = None
    text: Words
    author: Line | None = None
    look_at: Annotated[list[PlaceName], BeforeValidator(_some(0, len(PARTS) + len(PANELS)))] = Field(
        default_factory=list
    )
    question: Question | None = None


class NotesSheet(Sheet):
    """A whole file of notes, in the order in which a lesson goes through them."""

    KIND: ClassVar[str] = "file of notes"

    title: Line | None = None
    about: Words | None = None
    author: Line | None = None
    note: Annotated[list[WrittenNote], BeforeValidator(_some(0, MOST_NOTES))] = Field(default_factory=list)

    @classmethod
    def load(cls, path: str | Path) -> Self:
        """Read it from a file. SheetError names file and key, and what would be right."""
        try:
            size = Path(path).stat().st_size
        except (OSError, ValueError):
            size = 0
        if size > LARGEST_FILE:
            raise SheetError(
                "is too large for a file of notes",
                where=path,
                expected=f"at most {LARGEST_FILE // 1024} kB",
                found=f"{size // 1024} kB",
            )
        return super().load(path)
