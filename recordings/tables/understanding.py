"""A table understood from its first and last rows: what is where, before everything is read."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from recordings.errors import ReadError, UnclearColumnsError
from recordings.tables.blocks import NumberColumn
from recordings.tables.cells import is_missing, is_number, is_switch
from recordings.tables.choice import Choice, Plan, choose
from recordings.tables.guesses import guess, surroundings
from recordings.tables.headings import Heading, heading
from recordings.tables.layout import Layout, find_layout
from recordings.tables.lines import lines_of
from recordings.tables.numbers import decimal_by, settle_decimal
from recordings.tables.rules import ColumnRule
from recordings.tables.shape import refuse_long_form
from recordings.tables.stampplan import StampPlan, plan_stamps
from recordings.tables.suffixes import common_suffix, without
from recordings.tables.surroundings import Surroundings
from recordings.tables.text import TextFile

_NUMERIC_SHARE = 0.5
_LAST_ROWS = 300
_ROOM = 1.02


@dataclass(frozen=True, slots=True)
class Understanding:
    """Everything that the first look tells.

    rows      sample rows of the file's beginning and end
    numeric   column → how well its sample reads as numbers, 0..1
    suffixes  column → the unit that stands behind each of its numbers
    around    what the headers tell about one another
    """

    file: TextFile
    layout: Layout
    stamps: StampPlan
    headings: tuple[Heading, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: dict[int, float]
    suffixes: dict[int, str]
    around: Surroundings

    def choose(self, rules: Mapping[str, ColumnRule]) -> Choice:
        """Which column becomes which channel. ReadError where it can't be settled."""
        return choose(self.file.path, self.headings, self.numeric, self.around, rules)

    def expected_rows(self) -> int:
        """About how many rows the file has, by its size and the length of the rows looked at."""
        looked_at = [len(row) + sum(map(len, row)) for row in self.rows]
        return int(self.file.size / (sum(looked_at) / len(looked_at)) * _ROOM) if looked_at else 0

    def number_columns(self, plans: Mapping[str, Plan]) -> list[NumberColumn]:
        """How the columns of these plans are read."""
        columns: dict[int, NumberColumn] = {}
        for channel, plan in plans.items():
            for term in plan.terms:
                index = term.heading.index
                if index in columns and columns[index].unit != term.unit:
                    raise UnclearColumnsError(
                        f'column "{term.heading.text}" is given two units',
                        where=self.file.path,
                        mend="give it the same unit in every line of the site sheet's [columns]",
                    )
                columns[index] = NumberColumn(
                    index,
                    term.heading.text,
                    term.unit,
                    switch=channel == "charger_enabled",
                    suffix=self.suffixes.get(index, ""),
                )
        found = {
            index: settle_decimal(without(row[index], column.suffix) for row in self.rows)
            for index, column in columns.items()
        }
        certain = {decimal for decimal in found.values() if decimal in (".", ",")}
        common = certain.pop() if len(certain) == 1 else ""
        for index, column in columns.items():
            if column.switch:
                continue
            told = found[index] if len(found[index]) == 1 else common or found[index]
            column.settled = len(told) == 1
            column.decimal = (
                decimal_by(self.file.path, column.name, told, self.layout.delimiter) if told else "."
            )
        return list(columns.values())


def understand(path: str) -> Understanding:
    """Look at the first and last rows of a file. ReadError where it holds no table of readings over time."""
    file = TextFile.open(path)
    layout = find_layout(file)
    rows = (*layout.rows, *_last_rows(file, layout))
    stamps = plan_stamps(file.path, layout.header, layout.stamps, rows)
    units = layout.unit_row or ("",) * layout.width
    headings = _headings(
        {
            index: (text, units[index])
            for index, text in enumerate(layout.header)
            if index not in stamps.columns
            and not (index in layout.stamps and layout.stamps[index] != "epoch")
        }
    )
    if not headings:
        raise ReadError(
            "the table has times and nothing else", where=file.path, mend="choose a table with readings"
        )
    headings, suffixes = _with_units_of_cells(headings, rows)
    numeric = {
        each.index: _numeric_share(
            (without(row[each.index], suffixes.get(each.index, "")) for row in rows), each.has("enabled")
        )
        for each in headings
    }
    refuse_long_form(file.path, layout.header, tuple(layout.stamps), numeric, layout.rows)
    around = surroundings([each for each in headings if numeric[each.index] > 0])
    return Understanding(file, layout, stamps, headings, rows, numeric, suffixes, around)


def _with_units_of_cells(
    headings: tuple[Heading, ...], rows: Sequence[Sequence[str]]
) -> tuple[tuple[Heading, ...], dict[int, str]]:
    """The headings with the units that stand in the cells, and those texts. A header's own unit holds."""
    suffixes: dict[int, str] = {}
    found: list[Heading] = []
    for each in headings:
        text, unit = common_suffix(row[each.index] for row in rows)
        if unit is not None and each.unit is None:
            each = replace(each, unit=unit, unit_from="cells")
        if unit is not None and each.unit == unit:
            suffixes[each.index] = text
        found.append(each)
    return tuple(found), suffixes


def _headings(texts: Mapping[int, tuple[str, str]]) -> tuple[Heading, ...]:
    """The headers understood; a plant's name before all of them is left out where that tells more."""
    outputs = any(re.search(r"(?i)(?<![a-z])out\s+\S{1,3}$", text.strip()) for text, _ in texts.values())
    plain = tuple(heading(index, text, unit, "", outputs) for index, (text, unit) in texts.items())
    common = _shared_beginning([text for text, _ in texts.values() if text])
    plant = common[: max((place + 1 for place, c in enumerate(common) if c in "/|:>._"), default=0)]
    if not plant:
        return plain
    short = tuple(heading(index, text, unit, plant, outputs) for index, (text, unit) in texts.items())
    return short if _understood(short) > _understood(plain) else plain


def _shared_beginning(texts: Sequence[str]) -> str:
    if not texts:
        return ""
    least, most = min(texts), max(texts)
    length = next(
        (place for place, pair in enumerate(zip(least, most, strict=False)) if pair[0] != pair[1]), None
    )
    return least[:length]


def _understood(headings: Sequence[Heading]) -> int:
    around = surroundings(headings)
    return len({found.channel for each in headings if (found := guess(each, around))})


def _last_rows(file: TextFile, layout: Layout) -> list[tuple[str, ...]]:
    lines = lines_of(file.tail().encode("utf-8", "replace"), layout.delimiter, most=_LAST_ROWS)
    return [tuple(line.cells) for line in lines if len(line.cells) == layout.width]


def _numeric_share(cells: Iterable[str], switch: bool) -> float:
    """0 for a column of words, up to 1 for one of numbers; an empty sample counts little, but counts.

    switch  words for on and off count as numbers
    """
    filled = [cell for cell in cells if not is_missing(cell)]
    if not filled:
        return 0.1
    good = sum(is_number(cell) or (switch and is_switch(cell)) for cell in filled)
    share = good / len(filled)
    return share if share >= _NUMERIC_SHARE else 0.0
