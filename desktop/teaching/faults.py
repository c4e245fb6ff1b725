"""What is wrong with notes that are being written, in the words of whoever writes them: which note, which field.

A fault that blocks would make a file that can't be read, or a question that nobody can answer; the others are
told and may stay.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from desktop.teaching.characters import refused_character
from desktop.teaching.lesson import PANELS, Note, instant_of
from desktop.teaching.notes import MOST_IN_LINE, MOST_IN_TEXT
from desktop.teaching.values import QUANTITIES, Told, Values, is_value
from desktop.words import Phrase

_BRACED = re.compile(r"\{[^{}]*\}")
_LEAST_CHOICES = 2


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault.

    note    the index of the note; None where it is said above the notes
    field   at, until, text, author, look_at, ask, choices, parts, explain; title or about above the notes
    text    what to do about it
    blocks  whether the notes can't be written so
    """

    note: int | None
    field: str
    text: Phrase
    blocks: bool = True

    def __str__(self) -> str:
        if self.note is None:
            return str(self.text)
        return str(Phrase("Note {number}: {what}", number=str(self.note + 1), what=self.text))


PartName = Callable[[str], str]
_Found = Iterator[tuple[str, Phrase, bool]]


def faults_of(
    heads: Mapping[str, Any],
    tables: Sequence[Mapping[str, Any]],
    review: Told,
    part_name: PartName = str,
) -> list[Fault]:
    """All faults, in the order of the notes.

    heads      title, about and author, as in the file
    tables     the notes as in the file; a time that can't be read stands there as it was typed
    review     of the recording that the notes are on
    part_name  what a part of the diagram is called
    """
    found = []
    for key in ("title", "about", "author"):
        most = MOST_IN_TEXT if key == "about" else MOST_IN_LINE
        found += [Fault(None, key, text) for text in _plain(str(heads.get(key, "")), most)]
    before: int | None = None
    for index, table in enumerate(tables):
        one = _OneNote(table, review, part_name)
        found += [Fault(index, field, text, blocks) for field, text, blocks in one.faults()]
        if one.at is not None and before is not None and one.at < before:
            text = Phrase("it comes before the note above it in time: the replay would have to jump back.")
            found.append(Fault(index, "at", text, blocks=False))
        before = before if one.at is None else one.at
    return found


def first_fault(notes: Sequence[Note], review: Told, part_name: PartName = str) -> Fault | None:
    """The first fault of a lesson that was read for which nobody could answer it, or understand it."""
    for index, note in enumerate(notes):
        asked = note.question
        texts = [note.text]
        if asked is not None:
            texts += [asked.ask, *asked.choices, asked.explain]
            parts = [str(part) for part in asked.right if not asked.choices]
            found = list(_unanswerable(parts, present(review, note.at), part_name))
            if found:
                return Fault(index, "parts", found[0])
        for text in texts:
            for what in _unfilled(text):
                return Fault(index, "text", what)
    return None


def present(review: Told, instant: int) -> frozenset[str]:
    """The parts that the diagram of a plant has at an instant (UTC nanoseconds)."""
    moment = review.moment(instant)
    parts = {name for name, stream in moment.streams.items() if stream.knowledge != "absent"}
    places = {gap.place for gap in moment.gaps}
    return frozenset(
        parts | {"ac", "dc"} | (places & {"both"}) | ({"converter"} if "loss" in parts else set())
    )


class _OneNote:
    """A note as it stands in the file."""

    def __init__(self, table: Mapping[str, Any], review: Told, part_name: PartName) -> None:
        self._table, self._review, self._part_name = table, review, part_name
        self._first, self._last = int(review.recording.time[0]), int(review.recording.time[-1])
        self.at = self._instant("at")
        until = self._instant("until")
        self._until = until if until is not None and self.at is not None and until >= self.at else None

    def faults(self) -> _Found:
        """Field, what is wrong with it, and whether that blocks."""
        yield from self._times()
        yield from self._text("text", Phrase("write a text."))
        author = str(self._table.get("author", ""))
        yield from (("author", text, True) for text in _plain(author, MOST_IN_LINE))
        looked_at = [place for place in self._table.get("look_at", []) if place not in PANELS]
        yield from self._absent("look_at", looked_at)
        question = self._table.get("question")
        if question:
            yield from self._question(question)

    def _instant(self, key: str) -> int | None:
        stamp = self._table.get(key)
        if not isinstance(stamp, datetime):
            return None
        instant = instant_of(stamp, self._review.site.zone)
        return instant if self._first <= instant <= self._last else None

    def _times(self) -> _Found:
        zone = self._review.site.zone
        for key in ("at", "until"):
            stamp = self._table.get(key)
            if stamp is None and key == "at":
                yield key, Phrase("give it a time."), True
            elif isinstance(stamp, str):
                yield key, Phrase("“{typed}” is no time; 14:03 or 14:03:20 would be one.", typed=stamp), True
            elif stamp is not None and self._instant(key) is None:
                expected = Phrase(
                    "the time lies outside the recording: {first:day} {first:clock} to {last:day} {last:clock}.",
                    zone,
                    first=self._first,
                    last=self._last,
                )
                yield key, expected, True
        until = self._instant("until")
        if until is not None and self.at is not None and until < self.at:
            yield "until", Phrase("the span ends before it begins."), True

    def _text(self, field: str, missing: Phrase) -> _Found:
        text = str(self._table.get(field, ""))
        if not text.strip():
            yield field, missing, True
            return
        yield from self._written(field, text, MOST_IN_TEXT)

    def _written(self, field: str, text: str, most: int) -> _Found:
        """What is wrong with a text that quotes values."""
        yield from ((field, what, True) for what in (*_plain(text, most), *_unfilled(text)))
        yield from ((field, what, False) for what in self._not_known(text))

    def _not_known(self, text: str) -> Iterator[Phrase]:
        if self.at is None:
            return
        values = Values(self._review, Note(self.at, "", self._until))
        for braced in dict.fromkeys(_BRACED.findall(text)):
            known = values.number(braced[1:-1])
            if known is not None and math.isnan(known):
                yield Phrase("{value} isn't known at this time.", value=braced)

    def _absent(self, field: str, parts: Sequence[str]) -> _Found:
        there = present(self._review, self.at) if self.at is not None and parts else frozenset(parts)
        missing = [part for part in parts if part not in there]
        if missing:
            yield field, Phrase("this plant has no “{part}”.", part=self._part_name(missing[0])), False

    def _question(self, question: Mapping[str, Any]) -> _Found:
        ask = str(question.get("ask", ""))
        if not ask.strip():
            yield "ask", Phrase("write what is asked."), True
        yield from self._written("ask", ask, MOST_IN_LINE)
        if "parts" in question or "choices" not in question:
            yield from self._parts(question.get("parts", []))
        else:
            yield from self._choices(question.get("choices", []), question.get("right"))
        yield from self._written("explain", str(question.get("explain", "")), MOST_IN_TEXT)

    def _choices(self, choices: Sequence[str], right: int | None) -> _Found:
        if len(choices) < _LEAST_CHOICES:
            yield "choices", Phrase("write at least two answers."), True
        elif len({" ".join(choice.split()) for choice in choices}) < len(choices):
            yield "choices", Phrase("two answers are the same."), True
        if choices and right is None:
            yield "choices", Phrase("mark the answer that is right."), True
        for choice in choices:
            yield from self._written("choices", choice, MOST_IN_LINE)

    def _parts(self, parts: Sequence[str]) -> _Found:
        if not parts:
            yield "parts", Phrase("check at least one part that is right when it is clicked."), True
        elif self.at is not None:
            found = list(_unanswerable(parts, present(self._review, self.at), self._part_name))
            yield from (("parts", what, True) for what in found)
            if not found:
                yield from self._absent("parts", parts)
            shown = [part for part in self._table.get("look_at", []) if part in parts]
            if shown:
                yield "look_at", Phrase("what is to be clicked is pointed at already."), False


def _unanswerable(parts: Sequence[str], there: frozenset[str], part_name: PartName) -> Iterator[Phrase]:
    if parts and not there & set(parts):
        yield Phrase(
            "this plant has no “{part}”: nobody could click what is right.", part=part_name(parts[0])
        )


def _plain(text: str, most: int) -> Iterator[Phrase]:
    refused = refused_character(text.replace("\n", "").replace("\t", ""))
    if refused:
        yield Phrase("take out the character {name}, which isn't seen.", name=refused)
    if len(text) > most:
        yield Phrase("shorten it to {most} characters; it has {count}.", most=str(most), count=str(len(text)))


def _unfilled(text: str) -> Iterator[Phrase]:
    """What would stand in braces before whoever reads it."""
    for braced in _BRACED.findall(text):
        name = braced[1:-1]
        if not is_value(name):
            near = difflib.get_close_matches(name, QUANTITIES, n=1, cutoff=0.5)
            yield (
                Phrase(
                    "{value} is no value; the nearest is {nearest}.", value=braced, nearest=f"{{{near[0]}}}"
                )
                if near
                else Phrase(
                    "{value} is no value; “Insert a value” offers those that there are.", value=braced
                )
            )
            return
    if set("{}") & set(_BRACED.sub("", text)):
        yield Phrase("a brace isn't closed, or wasn't opened.")
