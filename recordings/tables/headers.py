"""Which lines above the data are the header: names, the row of units below, the row of groups above."""

from __future__ import annotations

from collections.abc import Sequence

from recordings.errors import ReadError
from recordings.tables.lines import Line
from recordings.tables.stampforms import stamp_kind
from recordings.tables.units import unit_of
from recordings.tables.words import meanings, tokens

_UNIT_SHARE = 0.6


def header_above(
    path: str, above: list[Line], stamps: dict[int, str], width: int
) -> tuple[Line, Line | None, list[str]]:
    """(header, unit row, names) from the last rows before the data that are wide enough.

    Names that stand there several times are told apart by a row of groups above them, where there is one.
    """
    wide = [
        line for line in above if len(line.cells) >= max(2, width - 1) and any(c.strip() for c in line.cells)
    ]
    if not wide:
        raise ReadError(
            "no header row found above the first row of data",
            where=path,
            expected="one row that names the columns",
            mend="export the table with its header, or write one as the first line",
        )
    header, unit_row = wide[-1], None
    if len(wide) > 1 and _is_unit_row(header.cells, stamps) and _names_something(wide[-2].cells):
        header, unit_row = wide[-2], header
    place = wide.index(header)
    return header, unit_row, _grouped(header.cells, wide[place - 1].cells if place else [])


def is_header_like(line: Line, stamps: dict[int, str], width: int) -> bool:
    """True for a row of words that fills most of the table's width, says something and holds no stamp."""
    if len(line.cells) < max(2, width - 1) or is_stamped(line, stamps):
        return False
    filled = sum(bool(cell.strip()) for cell in line.cells)
    return filled >= max(2, len(line.cells) / 2) and _names_something(line.cells)


def is_stamped(line: Line, stamps: dict[int, str]) -> bool:
    """True where a stamp stands in a column of stamps."""
    return any(stamp_kind(line.cells[column]) for column in stamps if column < len(line.cells))


def _grouped(names: list[str], groups: Sequence[str]) -> list[str]:
    """The names, each behind its group, where only so they differ. A group holds until the next one begins."""
    if not _repeats(names) or len(groups) < len(names) - 1:
        return names
    whole, group = [], ""
    for place, name in enumerate(names):
        group = (groups[place].strip() if place < len(groups) else "") or group
        whole.append(f"{group} {name.strip()}".strip() if name.strip() else name)
    return names if _repeats(whole) else whole


def _repeats(names: Sequence[str]) -> bool:
    filled = [name.strip().casefold() for name in names if name.strip()]
    return len(set(filled)) < len(filled)


def _is_unit_row(cells: Sequence[str], stamps: dict[int, str]) -> bool:
    others = [cell for place, cell in enumerate(cells) if place not in stamps and cell.strip()]
    known = [unit for unit in map(unit_of, others) if unit is not None]
    measured = any(unit.quantity not in ("other", "time") for unit in known)
    return measured and len(known) >= _UNIT_SHARE * len(others)


def _names_something(cells: Sequence[str]) -> bool:
    return any(set(meanings(word)) - {"plain"} for cell in cells for word in tokens(cell))
