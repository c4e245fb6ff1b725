"""What a table looks like and what was guessed of it: for a person who settles which column is which."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass

from recordings.errors import ReadError
from recordings.tables.choice import Choice, require_power
from recordings.tables.guesses import guess, surroundings
from recordings.tables.headings import Heading
from recordings.tables.rules import ColumnRule
from recordings.tables.understanding import Understanding, understand

_SHOWN_ROWS = 20


@dataclass(frozen=True, slots=True)
class ColumnGuess:
    """What one column was taken for.

    channel   the channel that it makes, or helps to make; "" for none
    meant     the channel that its header means by itself, "" for none
    rivals    headers of other columns that fit `meant` too
    how       the evidence, in words
    numeric   how well its first and last cells read as numbers, 0..1
    """

    index: int
    header: str
    unit: str
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


def inspect_table(
    path: str | os.PathLike[str], *, rules: Mapping[str, ColumnRule] | None = None, rows: int = _SHOWN_ROWS
) -> TableInspection:
    """Look at the beginning and end of a table. ReadError where it is no table of readings over time."""
    understood = understand(os.fspath(path))
    choice, problem, decimal = _tried(understood, rules or {})
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
    )


def _tried(understood: Understanding, rules: Mapping[str, ColumnRule]) -> tuple[Choice | None, str, str]:
    choice = None
    try:
        choice = understood.choose(rules)
        require_power(understood.file.path, choice, understood.headings)
        columns = understood.number_columns(choice.plans)
    except ReadError as error:
        return choice, str(error), "."
    return choice, "", "," if any(column.decimal == "," for column in columns) else "."


def _guess(understood: Understanding, choice: Choice | None, heading: Heading) -> ColumnGuess:
    around = surroundings(understood.headings)
    own = guess(heading, around)
    channel, sign, how = "", own.sign if own else 1, own.how if own else ""
    if choice is not None:
        for plan in choice.plans.values():
            if any(term.heading.index == heading.index for term in plan.terms):
                channel, sign, how = plan.channel, plan.sign, plan.how
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
        channel,
        own.channel if own else "",
        sign,
        how,
        tuple(rivals),
        understood.numeric[heading.index],
    )
