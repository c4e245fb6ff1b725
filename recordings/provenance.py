"""Where a recording came from, and what was done to it on the way in."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class ColumnReading:
    """How one channel was read.

    column  the column's header as it stands in the file; several are joined by " + "
    unit    the unit in the file, before conversion
    sign    +1, or -1 where the file counts the other way round
    how     the evidence, in words: why this column is this channel
    """

    column: str
    unit: str
    sign: int
    how: str


@dataclass(frozen=True, slots=True)
class ClockJump:
    """The logger's clock went back: two neighbouring rows of the file, UTC nanoseconds."""

    before: int
    after: int


@dataclass(slots=True)
class Repairs:
    """What was mended while reading; every count is of rows or cells of the file."""

    duplicates: int = 0
    out_of_order: int = 0
    bad_cells: int = 0
    bad_rows: int = 0
    notes: list[str] = field(default_factory=list)
    clock_jumps: list[ClockJump] = field(default_factory=list)


@dataclass(slots=True)
class Provenance:
    """Where a recording came from.

    name      what to call it: a file's name without folders, or a source
    path      the file it was read from, "" for none
    columns   how each channel was read
    ignored   headers that became no channel
    unclear   those among them that look like measurements and were not understood
    repairs   what was mended
    timezone  the zone in which local stamps were read, "" where stamps carried their own offset
    """

    name: str = ""
    path: str = ""
    columns: dict[str, ColumnReading] = field(default_factory=dict)
    ignored: list[str] = field(default_factory=list)
    repairs: Repairs = field(default_factory=Repairs)
    timezone: str = ""
    unclear: list[str] = field(default_factory=list)

    def leave_out(self, channels: Iterable[str]) -> None:
        """Move channels that turned out to be something else to what was ignored and not understood."""
        for channel in list(channels):
            column = self.columns.pop(channel).column
            self.ignored.append(column)
            self.unclear.append(column)
