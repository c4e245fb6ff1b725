"""Which column, or pair of columns, holds the times, and how its cells are written."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from recordings.errors import ReadError
from recordings.tables.cells import number
from recordings.tables.stampforms import ISO_LOCAL, ISO_WITH_OFFSET
from recordings.tables.words import meanings, tokens

_EPOCH_UNITS = {"s": 10**9, "sec": 10**9, "seconds": 10**9, "ms": 10**6, "us": 10**3, "µs": 10**3, "ns": 1}
_EPOCH_UP_TO = ((1e11, 10**9), (1e14, 10**6), (1e17, 10**3))
_BARE_TIME = re.compile(r"[0-2]\d[0-5]\d[0-5]\d")
_HEADER_OFFSET = re.compile(
    r"(?:UTC|GMT)\s*([-+−])\s*(\d{1,2})(?::?(\d\d))?|([-+−])(\d\d):(\d\d)", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class StampPlan:
    """Where the times stand and how they are written.

    columns  one column, or date and time of day
    form     "iso offset", "iso local", "epoch" or "text"
    factor   nanoseconds per unit of an epoch
    offset   seconds east of UTC that the header gives, None where it gives none
    """

    columns: tuple[int, ...]
    form: str
    factor: int = 1
    offset: int | None = None
    told: str = ""


def plan_stamps(
    path: str, header: Sequence[str], stamps: Mapping[int, str], rows: Sequence[Sequence[str]]
) -> StampPlan:
    """Choose the column of times. ReadError where there are times of day without dates."""
    full = {column: kind for column, kind in stamps.items() if kind in ("full", "epoch")}
    full = {column: kind for column, kind in full.items() if kind == "full" or _names_time(header[column])}
    dates = [column for column, kind in stamps.items() if kind == "date"]
    times = [column for column, kind in stamps.items() if kind == "time"] or _bare_times(header, rows)
    if not full and dates and times:
        return _of_text(header, (_first(header, dates), _first(header, times)))
    if full:
        best = max(full, key=lambda column: (_rank(header[column], full[column], rows, column), -column))
        return _of_one(header, best, full[best], rows)
    if dates:
        return _of_text(header, (_first(header, dates),))
    if times:
        raise ReadError(
            "the table has times of day but no dates",
            where=path,
            found=header[times[0]],
            mend="export the table with a column of dates",
        )
    only = next(iter(stamps))
    return _of_one(header, only, stamps[only], rows)


def _bare_times(header: Sequence[str], rows: Sequence[Sequence[str]]) -> list[int]:
    """Columns of times of day written as 140320."""
    return [
        column
        for column, text in enumerate(header)
        if _names_time(text) and all(_BARE_TIME.fullmatch(row[column].strip()) for row in rows)
    ]


def _of_one(header: Sequence[str], column: int, kind: str, rows: Sequence[Sequence[str]]) -> StampPlan:
    if kind == "epoch":
        return _of_epoch(header, column, rows)
    cells = [row[column].strip() for row in rows if row[column].strip()]
    if all(ISO_WITH_OFFSET.fullmatch(cell) for cell in cells):
        return StampPlan((column,), "iso offset", told=f'times from "{header[column]}"')
    plan = _of_text(header, (column,))
    if plan.offset is None and all(ISO_LOCAL.fullmatch(cell) for cell in cells):
        return StampPlan((column,), "iso local", told=plan.told)
    return plan


def _of_text(header: Sequence[str], columns: tuple[int, ...]) -> StampPlan:
    text = " ".join(header[column] for column in columns)
    told = "times from " + " and ".join(f'"{header[column]}"' for column in columns)
    return StampPlan(columns, "text", offset=_header_offset(text), told=told)


def _of_epoch(header: Sequence[str], column: int, rows: Sequence[Sequence[str]]) -> StampPlan:
    values = [number(row[column], "," if "," in row[column] else ".") for row in rows]
    middle = sorted(value for value in values if value == value)
    middle_value = middle[len(middle) // 2]
    factor = next((unit for up_to, unit in _EPOCH_UP_TO if middle_value < up_to), 1)
    for word in re.findall(r"[a-zµ]+", header[column].lower()):
        # The size must bear the header out: "time (s)" above milliseconds since 1970 is a slip of the header.
        if word in _EPOCH_UNITS and 1e17 < middle_value * _EPOCH_UNITS[word] < 9e18:
            factor = _EPOCH_UNITS[word]
    name = {10**9: "s", 10**6: "ms", 10**3: "µs", 1: "ns"}[factor]
    return StampPlan(
        (column,), "epoch", factor, 0, f'times from "{header[column]}", {name} since 1970 in UTC'
    )


def _rank(header: str, kind: str, rows: Sequence[Sequence[str]], column: int) -> int:
    cells = [row[column].strip() for row in rows[:50] if row[column].strip()]
    own_offset = kind == "epoch" or all(ISO_WITH_OFFSET.fullmatch(cell) for cell in cells)
    return (
        4 * (own_offset or _header_offset(header) is not None)
        + 2 * (kind == "full")
        + 3 * _names_time(header)
    )


def _names_time(header: str) -> bool:
    return any("time" in meanings(word) for word in tokens(header))


def _first(header: Sequence[str], columns: Sequence[int]) -> int:
    return next((column for column in columns if _names_time(header[column])), columns[0])


def _header_offset(header: str) -> int | None:
    """Seconds east of UTC that a header such as `Time (UTC)` or `Zeit [UTC+2]` gives."""
    match = _HEADER_OFFSET.search(header)
    if match:
        sign, hours, minutes = match[1] or match[4], match[2] or match[5], match[3] or match[6]
        return (-1 if sign in "-−" else 1) * (int(hours) * 3600 + int(minutes or 0) * 60)
    return 0 if re.search(r"\b(?:UTC|GMT|Zulu)\b", header.replace("_", " "), re.IGNORECASE) else None
