"""What the user says about a table's columns, where the automatic reading gets one wrong."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ColumnRule:
    """Where a table keeps one channel.

    column  the column's header; several, joined by " + ", are added up; "" where the table doesn't hold the
            channel, whatever its headers say
    unit    the unit in the file, None to take it from the header
    sign    -1 where the file counts the other way round than the channel, None to take it from the header
    less    the header of a column that holds the other direction, taken off; several as in `column`
    scale   what the readings are multiplied with once unit and sign are right: mends a meter of a known factor
    offset  what is then added, in the channel's unit
    """

    column: str
    unit: str | None = None
    sign: int | None = None
    less: str | None = None
    scale: float | None = None
    offset: float | None = None
