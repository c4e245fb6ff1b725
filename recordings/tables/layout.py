"""Where a table begins in a file and how it is cut: delimiter, header, unit row, first row of data."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from recordings.errors import ReadError
from recordings.tables.cells import is_missing, is_number, is_switch
from recordings.tables.headers import header_above, is_header_like, is_stamped
from recordings.tables.lines import Line, lines_of
from recordings.tables.stampforms import stamp_kind
from recordings.tables.text import TextFile
from recordings.tables.words import meanings, tokens

DELIMITERS = (",", ";", "\t", "|")
MOST_COLUMNS = 10_000
_LOOKED_AT = 400
_NAME = 200
_STAMP_SHARE = 0.4
_RAGGED_SHARE = 0.05


@dataclass(frozen=True, slots=True)
class Layout:
    """How a file's table is laid out.

    header      one text per column of the data; unit_row the cells below it, empty where there is no such row
    header_line, data_line   numbers of lines in the file, from 1
    data_offset              bytes of clean UTF-8 before the first row of data
    ragged      rows may end early: their last cells are then missing
    stamps      column → what its cells look like: "full", "date", "time" or "epoch"
    rows        the first rows of data as cells
    """

    delimiter: str
    header: tuple[str, ...]
    unit_row: tuple[str, ...]
    header_line: int
    data_line: int
    data_offset: int
    ragged: bool
    stamps: dict[int, str]
    rows: tuple[tuple[str, ...], ...]

    @property
    def width(self) -> int:
        """Columns of a row of data."""
        return len(self.header)


def find_layout(file: TextFile) -> Layout:
    """Look at the beginning of a file. ReadError where it holds no table with a header and times."""
    head = file.head()
    best: tuple[float, str, list[Line], int] | None = None
    for delimiter in DELIMITERS:
        lines = list(lines_of(head, delimiter, most=_LOOKED_AT))
        _refuse_too_wide(file.path, lines)
        score, width = _score(lines)
        if width > 1 and (best is None or score > best[0]):
            best = score, delimiter, lines, width
    if best is None:
        raise ReadError(
            "no table found",
            where=file.path,
            expected="rows of cells parted by comma, semicolon, tab or bar",
            mend="choose a CSV file with a header row",
        )
    _, delimiter, lines, width = best
    return _laid_out(file.path, delimiter, lines, width)


def _refuse_too_wide(path: str, lines: Sequence[Line]) -> None:
    widest = max((len(line.cells) for line in lines), default=0)
    if widest > MOST_COLUMNS:
        raise ReadError(
            "too many columns",
            where=path,
            expected=f"at most {MOST_COLUMNS}",
            found=widest,
            mend="export the columns of the power plant only",
        )


def _score(lines: Sequence[Line]) -> tuple[float, int]:
    """How well a delimiter cuts: the share of rows of the usual width, times the share of clean cells in them."""
    widths = Counter(len(line.cells) for line in lines if line.cells)
    widths.pop(1, None)
    if not widths:
        return 0.0, 0
    width = max(widths, key=lambda cells: (widths[cells], cells))
    rows = [line.cells for line in lines if len(line.cells) == width]
    clean = sum(_is_clean(cell) for row in rows[-100:] for cell in row)
    return len(rows) / len(lines) * (0.05 + clean / (width * len(rows[-100:]))), width


def _is_clean(cell: str) -> bool:
    return is_number(cell) or is_missing(cell) or is_switch(cell) or bool(stamp_kind(cell))


def _laid_out(path: str, delimiter: str, lines: list[Line], width: int) -> Layout:
    rows = [line for line in lines if len(line.cells) == width]
    stamps = stamp_columns([line.cells for line in rows], width)
    if not stamps:
        raise _no_times(path, rows)
    first = _first_data(lines, stamps, width)
    header, unit_row, texts = header_above(path, lines[:first], stamps, width)
    names, widest = _fitted(path, header.number, texts, lines[first:], width)
    data = [line for line in lines[first:] if line.cells]
    ragged = len(names) > width or _is_ragged(data, widest)
    cells = tuple(tuple(_padded(line.cells, len(names))) for line in data if len(line.cells) <= len(names))
    return Layout(
        delimiter,
        names,
        tuple(_padded(unit_row.cells, len(names))) if unit_row else (),
        header.number,
        lines[first].number,
        lines[first].start,
        ragged,
        stamps,
        cells,
    )


def stamp_columns(rows: Sequence[Sequence[str]], width: int) -> dict[int, str]:
    """Columns many of whose cells look like stamps, and like what; headers and preambles are among the rows."""
    found: dict[int, str] = {}
    for column in range(width):
        kinds = Counter(stamp_kind(row[column]) for row in rows)
        filled = len(rows) - sum(is_missing(row[column]) for row in rows)
        kinds.pop("", None)
        if kinds and sum(kinds.values()) >= _STAMP_SHARE * filled:
            found[column] = max(kinds, key=lambda kind: (kinds[kind], kind))
    return found


def _first_data(lines: Sequence[Line], stamps: dict[int, str], width: int) -> int:
    """The first row with a stamp where stamps stand: of the usual width, or shorter under a wide header.

    A stamp above the header, as preambles have it, doesn't count.
    """
    header = next((n for n, line in enumerate(lines) if is_header_like(line, stamps, width)), 0)
    for start in (header, 0):
        headed = False
        for place, line in enumerate(lines[start:], start):
            fits = len(line.cells) == width or (headed and 2 <= len(line.cells) < width)
            if fits and is_stamped(line, stamps):
                return place
            headed = headed or len(line.cells) >= width
    raise AssertionError("columns of stamps come from rows of this width")


def _no_times(path: str, rows: Sequence[Line]) -> ReadError:
    """Tells of a column that is named after the time, but holds none."""
    for column, name in enumerate(rows[0].cells):
        named = any("time" in meanings(word) for word in tokens(name[:_NAME]))
        filled = [row.cells[column].strip() for row in rows[1:] if not is_missing(row.cells[column])]
        if named and filled:
            return ReadError(
                f'column "{" ".join(name.split())}" holds no dates or times',
                where=path,
                expected="such as 2026-02-14 14:03:20",
                found=filled[0],
                mend="export times in that form; an offset such as +05:30 may follow",
            )
    return ReadError(
        "no column of dates or times found",
        where=path,
        expected="a column such as 2026-02-14 14:03:20",
        mend="export the table with its time column",
    )


def _fitted(
    path: str, number: int, texts: Sequence[str], data: list[Line], width: int
) -> tuple[tuple[str, ...], int]:
    """The header fitted to the data's width: one trailing delimiter more or less is no harm.

    number, texts  the header's line and its cells
    """
    names = list(texts)
    rows = [line.cells for line in data if len(line.cells) == width]
    while len(names) > width and not names[-1].strip():
        names.pop()
    if len(names) < width:
        surplus = width - len(names)
        if surplus > 1 or any(row[-1].strip() for row in rows):
            raise ReadError(
                f"the header has {len(names)} columns, the rows have {width}",
                where=f"{path}, line {number}",
                mend="make the header name every column",
            )
        names.append("")
    return tuple(" ".join(name.replace("\ufeff", "").split()) for name in names), max(width, len(names))


def _is_ragged(data: list[Line], width: int) -> bool:
    short = sum(2 <= len(line.cells) < width for line in data)
    return short > max(1, _RAGGED_SHARE * len(data))


def _padded(cells: Sequence[str], width: int) -> list[str]:
    return [*cells, *[""] * (width - len(cells))][:width]
