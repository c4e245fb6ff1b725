"""What one column's header says: its words, its unit, its leg, and which direction it counts as positive."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from recordings.tables.units import Unit, unit_of
from recordings.tables.words import meanings, tokens

_LONGEST = 200

DIRECTIONS = ("charge", "discharge", "import", "export", "carga")

_BRACKETS = re.compile(r"[\[({<]\s*([^\[\](){}<>]{1,24}?)\s*[\])}>]")
_REMARK = re.compile(r"(?<=\S)\s*[\[(][^\[\]()]*[\])]\s*$")
_ENDING = re.compile(
    r"^(.*?[^\s_,/.:|-])(?:[\s_,/.:|-]+|\s+in\s+|\s+en\s+)([^\s_,:|\[\](){}<>]{1,12})$", re.DOTALL
)
_LAST_WORD = re.compile(r"^(.*[^\s_.])[\s_.]+([^\s_.,:|\[\](){}<>]{1,12})$", re.DOTALL)
_GLUED = re.compile(r"^(.*[a-z0-9])(kW|KW|Kw|MW|kVA|VA|mA|mV|Hz|W|V|A)$", re.DOTALL)
_BEGINNING = re.compile(r"^(kW|W|Hz|kVA|VA)(?:[\s_:/|-]+)(\S.*)$", re.DOTALL)
_SHORT_NEEDS_TEMPERATURE = {"c", "f", "k"}


@dataclass(frozen=True, slots=True)
class Heading:
    """A header understood.

    index      the column's number, from 0
    text       the header on one line, as it stands in the file
    name       the header without its unit
    unit, unit_from   the unit, and where it was found: "header", "unit row", "cells", or "" for none
    says       meaning → the word that said it
    order      the meanings in the order of their words
    leg        1, 2 or 3; 0 for none
    number     a number in the header ("PV 2"), None for none
    legs       how many different legs are named
    unknown    how many words nobody knows
    positive   the direction that counts as positive by the header's words, "" where it doesn't say
    """

    index: int
    text: str
    name: str
    unit: Unit | None = None
    unit_from: str = ""
    says: dict[str, str] = field(default_factory=dict)
    leg: int = 0
    legs: int = 0
    number: int | None = None
    unknown: int = 0
    positive: str = ""
    order: tuple[str, ...] = ()

    def has(self, *wanted: str) -> bool:
        """True where the header says any of these."""
        return any(word in self.says for word in wanted)

    def all_of(self, *wanted: str) -> bool:
        """True where the header says all of these."""
        return all(word in self.says for word in wanted)


def heading(
    index: int, header: str, unit_row: str = "", plant: str = "", has_outputs: bool = False
) -> Heading:
    """Understand one header, with the cell of the unit row below it, if there is one.

    plant        what all headers of the table begin with, which says nothing about this column
    has_outputs  another header says "out" right before its unit: then "in" before a unit is an input too
    """
    text = " ".join(header.split())
    name, unit = split_unit(text.removeprefix(plant)[:_LONGEST], has_outputs)
    unit_from = "header" if unit else ""
    if unit is None and unit_row.strip():
        unit = unit_of(unit_row)
        unit_from = "unit row" if unit else ""
    words = tokens(name)
    said = [(word, meaning) for word in words for meaning in meanings(word)]
    says = {meaning: word for word, meaning in reversed(said)}
    legs = {int(word[1]) for word in words if re.fullmatch(r"l[1-3]", word)}
    numbers = [int(word) for word in words if word.isdecimal() and len(word) < 4]
    unknown = sum(1 for word in words if not meanings(word) and not re.fullmatch(r"l[1-3]|\d+", word))
    return Heading(
        index,
        text,
        name,
        unit,
        unit_from,
        says,
        leg=min(legs, default=0),
        legs=len(legs),
        number=numbers[0] if numbers else None,
        unknown=unknown,
        positive=_positive([meaning for _, meaning in said]),
        order=tuple(meaning for _, meaning in said),
    )


def split_unit(text: str, has_outputs: bool = False) -> tuple[str, Unit | None]:
    """A header without its unit, and the unit: `Load [kW]`, `load_kw`, `Load, kW`, `loadKW`, `kW load`."""
    # The last one holds: `Load (A) [W]` is the power of a place called A.
    for found in reversed(list(_BRACKETS.finditer(text))):
        unit = unit_of(found[1])
        if unit is not None and not (unit.quantity == "time" and found[1].lower() in ("d", "h")):
            return " ".join((text[: found.start()] + " " + text[found.end() :]).split()), unit
    remark = _REMARK.search(text)
    if remark:
        # A remark in brackets may follow the unit: `battery power W (discharge positive)`.
        name, unit = split_unit(text[: remark.start()], has_outputs)
        return (f"{name} {remark[0]}", unit) if unit else (text, None)
    for pattern in (_ENDING, _LAST_WORD, _GLUED):
        match = pattern.match(text)
        unit = unit_of(match[2]) if match else None
        if match is None or unit is None or not match[2].strip("-0123456789"):
            continue
        if match[2].lower() in _SHORT_NEEDS_TEMPERATURE and "temp" not in text.lower():
            continue
        return _without_in(text, match, has_outputs), unit
    begun = _BEGINNING.match(text)
    return (begun[2], unit_of(begun[1])) if begun else (text, None)


def _without_in(text: str, match: re.Match[str], has_outputs: bool) -> str:
    """The name before ` in kW`; of `AC in kW`, the `in` is part of the name."""
    before = match[1].removesuffix(" in").removesuffix(" en")
    said_in = text[len(before) : match.start(2)].strip() == "in"
    is_input = said_in and (has_outputs or re.search(r"(?i)\b(?:ac|dc|ca)\d?$", before))
    return f"{before} in" if is_input else before


def _positive(said: list[str]) -> str:
    """The direction that is positive: the one nearest to the first sign word, or the other one for `negative`."""
    places = [place for place, meaning in enumerate(said) if meaning in ("positive", "negative")]
    directions = [place for place, meaning in enumerate(said) if meaning in DIRECTIONS]
    if not places or not directions:
        return ""
    sign = places[0]
    nearest = min(directions, key=lambda place: (abs(place - sign), place))
    direction = "charge" if said[nearest] == "carga" else said[nearest]
    if said[sign] == "positive":
        return direction
    return {"charge": "discharge", "discharge": "charge", "import": "export", "export": "import"}[direction]
