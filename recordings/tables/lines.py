"""Lines of a table as cells, with their line numbers, however torn the lines are."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass

_LONGEST_CELL = 16
"""A quoted cell may run over this many lines; a quote that is open longer belongs to a torn line."""


_STAMP_LEADS = re.compile(rb'"?(?:\d{4}[-/.]\d\d?[-/.]\d\d?|\d\d?[-/.]\d\d?[-/.]\d{2,4}|\d{10,19})')


@dataclass(frozen=True, slots=True)
class Line:
    """One row of the file: its first line (from 1), where its text begins and ends in the block, its cells."""

    number: int
    start: int
    stop: int
    cells: list[str]


def lines_of(block: bytes, delimiter: str, first: int = 1, most: int | None = None) -> Iterator[Line]:
    """Every row of a block that isn't blank, at most `most`. Rows that can't be cut into cells have none."""
    position, number, given = 0, first, 0
    while position < len(block) and (most is None or given < most):
        stop, taken = _row_end(block, position)
        text = block[position:stop].decode("utf-8", "replace").rstrip("\r\n")
        if text.strip():
            yield Line(number, position, stop, _cells(text, delimiter))
            given += 1
        position, number = stop, number + taken


def _row_end(block: bytes, start: int) -> tuple[int, int]:
    """Where the row that begins at `start` ends, and how many lines it takes."""
    first = _line_end(block, start)
    stop, quotes = first, block.count(b'"', start, first)
    lines = 1
    while quotes % 2 and lines < _LONGEST_CELL and stop < len(block):
        after = _line_end(block, stop)
        if _STAMP_LEADS.match(block, stop):
            # A line that begins with a date is the next row: the quote was left open by a torn one.
            return first, 1
        quotes += block.count(b'"', stop, after)
        stop, lines = after, lines + 1
    return (first, 1) if quotes % 2 else (stop, lines)


def _line_end(block: bytes, start: int) -> int:
    found = block.find(b"\n", start)
    return len(block) if found < 0 else found + 1


def _cells(text: str, delimiter: str) -> list[str]:
    if '"' not in text:
        return text.split(delimiter)
    try:
        rows = list(csv.reader(text.splitlines(keepends=True), delimiter=delimiter))
    except csv.Error:
        return []
    return rows[0] if len(rows) == 1 else []
