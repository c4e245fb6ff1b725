"""What the user says about a table's columns, where the automatic reading gets one wrong."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ColumnRule:
    """Where a table keeps one channel.

    column  the column's header; several, joined by " + ", are added up
    unit    the unit in the file, None to take it from the header
    sign    -1 where the file counts the other way round than the channel, None to take it from the header
    """

    column: str
    unit: str | None = None
    sign: int | None = None
