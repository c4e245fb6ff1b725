"""One check of a setting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from desktop.words import Phrase, template

State = Literal["pass", "fail", "unknown"]
Source = Literal["measured", "given", "assumed", "reckoned"]

STATE_NAMES: dict[State, str] = {
    "pass": template("pass"),
    "fail": template("fail"),
    "unknown": template("unknown"),
}

SOURCE_NAMES: dict[Source, str] = {
    "measured": template("in the recording"),
    "given": template("on the site sheet"),
    "assumed": template("assumed"),
    "reckoned": template("reckoned"),
}


@dataclass(frozen=True, slots=True)
class Value:
    """A number that a check rests on.

    name    what it is: a key for programs; label: for people
    source  "measured" in the recording, "given" on the site sheet, "assumed", or "reckoned" from others
    """

    name: str
    label: Phrase
    value: float
    unit: str
    source: Source


@dataclass(frozen=True, slots=True)
class Check:
    """A check and what came out.

    key     limit_within_rating, limit_within_circuit, limit_as_given, charger_within_battery,
            charger_on_with_generator, charger_off_on_grid, cut_off_above_reserve, charge_within_temperatures
    title   what is checked
    means   what came out, and what it means
    how     how to read or set it, in general words
    set_to  what to set it to, with its number; empty where it is right, or no number tells
    """

    key: str
    state: State
    title: Phrase
    values: tuple[Value, ...]
    means: Phrase
    how: Phrase
    set_to: Phrase = field(default_factory=lambda: Phrase(""))


def not_known(*lacking: tuple[Phrase, bool]) -> Phrase:
    """The sentence that says what a check lacks.

    lacking  each thing that it takes, and whether it is there
    """
    missing = [what for what, there in lacking if not there]
    if len(missing) == 1:
        return Phrase("Not known: it takes {what}.", what=missing[0])
    *others, last = missing
    return Phrase("Not known: it takes {others} and {last}.", others=_listed(others), last=last)


def _listed(phrases: Sequence[Phrase]) -> Phrase:
    named: dict[str, Any] = {f"part{number}": one for number, one in enumerate(phrases)}
    return Phrase(", ".join(f"{{{name}}}" for name in named), **named)
