"""One pass over a table's text: stamps and the columns that are asked for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from recordings.errors import ReadError
from recordings.provenance import Repairs
from recordings.tables.blocks import BlockReader, DecimalChangesError, NumberColumn
from recordings.tables.growing import Growing, GrowingStamps
from recordings.tables.stamps import Stamps
from recordings.tables.text import BLOCK
from recordings.tables.understanding import Understanding

_TRIES = 8


@dataclass(slots=True)
class ColumnsRead:
    """What all blocks of a file hold, in the order of the file."""

    stamps: Stamps
    values: dict[int, NDArray[np.float32]]
    repairs: Repairs = field(default_factory=Repairs)


def read_columns(
    understood: Understanding, columns: list[NumberColumn], progress: Callable[[float], None] | None
) -> ColumnsRead:
    """All rows of these columns, in the order of the file. ReadError where they can't be read."""
    for _ in range(_TRIES):
        try:
            return _one_pass(understood, columns, progress)
        except DecimalChangesError as change:
            for column in columns:
                column.filled = column.bad = 0
                column.first_bad = (0, "")
                if column.index == change.column:
                    column.decimal, column.settled = change.decimal, True
    raise ReadError(
        "the decimal sign changes within columns",
        where=understood.file.path,
        mend="export with one decimal sign",
    )


def _one_pass(
    understood: Understanding, columns: list[NumberColumn], progress: Callable[[float], None] | None
) -> ColumnsRead:
    repairs = Repairs()
    reader = BlockReader(understood.file.path, understood.layout, understood.stamps, columns, repairs)
    expected = understood.expected_rows()
    stamps = GrowingStamps(expected)
    values = {column.index: Growing(np.float32, expected) for column in columns}
    skip = understood.layout.data_offset
    for block, share in understood.file.blocks(BLOCK):
        if skip >= len(block):
            skip -= len(block)
            continue
        rows = reader.read(block[skip:] if skip else block)
        skip = 0
        stamps.extend(rows.stamps)
        for index, pieces in rows.columns.items():
            for piece in pieces:
                values[index].extend(piece)
        if progress is not None:
            progress(share)
    reader.judge()
    if understood.file.torn:
        repairs.bad_rows += 1
        repairs.notes.append("the last line is torn; left out")
    if reader.header_repeats:
        repairs.notes.append(f"the header is repeated {reader.header_repeats} times further down; skipped")
    if reader.padded:
        repairs.notes.append(f"{reader.padded} rows end early; their last cells are missing")
    taken = {index: column.taken() for index, column in values.items()}
    return ColumnsRead(stamps.taken(), taken, repairs)
