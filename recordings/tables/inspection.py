"""What a table looks like and what was guessed of it: for a person who settles which column is which."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from recordings.channels import CHANNELS
from recordings.errors import ReadError
from recordings.tables.choice import Choice, require_power
from recordings.tables.guesses import MINUS, guess
from recordings.tables.headings import Heading
from recordings.tables.inputs import with_feeds
from recordings.tables.rules import ColumnRule
from recordings.tables.surroundings import Source
from recordings.tables.understanding import Understanding, understand

_SHOWN_ROWS = 20


@dataclass(frozen=True, slots=True)
class ColumnGuess:
    """What one column was taken for.

    channel   the channel that it makes, or helps to make; "" for none
    unit      the unit that its header gives, "" for none
    read_in   the unit in which it is read as `channel`, "" for none
    sign      +1, or -1 where it counts the other way round than the channel
    meant     the channel that its header means by itself, "" for none
    rivals    headers of other columns that fit `meant` too
    how       the evidence, in words
    numeric   how well its first and last cells read as numbers, 0..1
    """

    index: int
    header: str
    unit: str
    read_in: str
    channel: str
    meant: str
    sign: int
    how: str
    rivals: tuple[str, ...]
    numeric: float


@dataclass(frozen=True, slots=True)
class TableInspection:
    """The first look at a table.

    rows       header, unit row where there is one, and the first rows of data, as cells
    columns    one guess per column that holds no times
    times      which columns hold the times, and how they are written
    problem    why the table can't be read without a word from the user, "" where it can
    unsettled  channels that no column makes so far, because several fit or the rule for it can't be followed
    """

    path: str
    encoding: str
    delimiter: str
    decimal: str
    header_line: int
    rows: tuple[tuple[str, ...], ...]
    columns: tuple[ColumnGuess, ...]
    times: str
    problem: str
    unsettled: tuple[str, ...] = ()


def inspect_table(
    path: str | os.PathLike[str],
    *,
    rules: Mapping[str, ColumnRule] | None = None,
    ac_input: Source = "",
    rows: int = _SHOWN_ROWS,
) -> TableInspection:
    """Look at the beginning and end of a table. ReadError where it is no table of readings over time."""
    rules = rules or {}
    understood = with_feeds(understand(os.fspath(path)), rules, ac_input)
    problem, decimal = _tried(understood, rules)
    unsettled = _unsettled(understood, rules) if problem else ()
    choice = understood.choose(_without(rules, unsettled))
    layout = understood.layout
    shown = (layout.header, *([layout.unit_row] if layout.unit_row else []), *layout.rows[:rows])
    return TableInspection(
        understood.file.path,
        understood.file.encoding,
        layout.delimiter,
        decimal,
        layout.header_line,
        tuple(shown),
        tuple(_guess(understood, choice, heading) for heading in understood.headings),
        understood.stamps.told,
        problem,
        unsettled,
    )


def _tried(understood: Understanding, rules: Mapping[str, ColumnRule]) -> tuple[str, str]:
    """(why it can't be read without a word from the user, the decimal sign)."""
    try:
        choice = understood.choose(rules)
        require_power(understood.file.path, choice, understood.headings)
        columns = understood.number_columns(choice.plans)
    except ReadError as error:
        return str(error), "."
    return "", "," if any(column.decimal == "," for column in columns) else "."


def _unsettled(understood: Understanding, rules: Mapping[str, ColumnRule]) -> tuple[str, ...]:
    """The channels that can't be made, whatever becomes of the others."""
    meant = {found.channel for each in understood.headings if (found := guess(each, understood.around))}
    names = [*rules, *(name for name in CHANNELS if name in meant and name not in rules)]
    unsettled = []
    for name in names:
        others = _without({}, [other for other in names if other != name])
        try:
            understood.choose(others | ({name: rules[name]} if name in rules else {}))
        except ReadError:
            unsettled.append(name)
    return tuple(unsettled)


def _without(rules: Mapping[str, ColumnRule], channels: Iterable[str]) -> dict[str, ColumnRule]:
    """The rules, with a word that the table doesn't hold these channels."""
    return dict(rules) | {name: ColumnRule("") for name in channels}


def _guess(understood: Understanding, choice: Choice, heading: Heading) -> ColumnGuess:
    around = understood.around
    own = guess(heading, around)
    channel, sign, how, read_in = "", own.sign if own else 1, own.how if own else "", ""
    for plan in choice.plans.values():
        for term in plan.terms:
            if term.heading.index == heading.index:
                channel, how, read_in = plan.channel, plan.how, term.unit.name
                sign = -plan.sign if term.part == MINUS else plan.sign
    rivals = [
        other.text
        for other in understood.headings
        if own
        and other.index != heading.index
        and (found := guess(other, around))
        and found.channel == own.channel
    ]
    return ColumnGuess(
        heading.index,
        heading.text,
        heading.unit.name if heading.unit else "",
        read_in,
        channel,
        own.channel if own else "",
        sign,
        how,
        tuple(rivals),
        understood.numeric[heading.index],
    )
