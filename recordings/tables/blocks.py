"""Blocks of a table's text into columns: typed at once where every cell is plain, else as text, else row by row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from recordings.errors import ReadError, UnclearColumnsError
from recordings.provenance import Repairs
from recordings.tables.layout import Layout
from recordings.tables.lines import lines_of
from recordings.tables.numbers import MISSING_SPELLINGS, decimal_by, numbers, settle_decimal
from recordings.tables.stampplan import StampPlan
from recordings.tables.stamps import (
    FIRST_YEAR,
    LAST_YEAR,
    Stamps,
    epoch_stamps,
    exact_stamps,
    in_reach,
    text_stamps,
)
from recordings.tables.suffixes import without
from recordings.tables.units import Unit

_INNER_BLOCK = 1 << 20
_FEW = 3
_SHARE = 0.05
_SOME = 20
_ODD_SHARE = 0.1


class DecimalChangesError(Exception):
    """Further down, the numbers of a column turn out to be written with the other decimal sign."""

    def __init__(self, column: int, decimal: str) -> None:
        super().__init__(column, decimal)
        self.column = column
        self.decimal = decimal


@dataclass(slots=True)
class NumberColumn:
    """How one column's numbers are read, and how many of them were bad.

    settled  the sample leaves no doubt about the decimal sign
    suffix   the unit that stands behind each number, "" for none
    """

    index: int
    name: str
    unit: Unit
    decimal: str = "."
    settled: bool = False
    switch: bool = False
    suffix: str = ""
    filled: int = 0
    bad: int = 0
    first_bad: tuple[int, str] = (0, "")

    @property
    def is_plain(self) -> bool:
        """True where readings are stored as they stand."""
        return self.unit.scale == 1 and self.unit.offset == 0


@dataclass(slots=True)
class Rows:
    """Rows of one block: their stamps, and the needed columns, in pieces, in their channels' units."""

    stamps: Stamps
    columns: dict[int, list[NDArray[np.float32]]]


@dataclass(slots=True)
class BlockReader:
    """Reads the blocks of one table, one after the other."""

    path: str
    layout: Layout
    plan: StampPlan
    columns: Sequence[NumberColumn]
    repairs: Repairs
    line: int = 0
    rows_seen: int = 0
    bad_stamps: int = 0
    first_bad_stamp: tuple[int, str] = (0, "")
    odd_widths: int = 0
    first_odd_width: tuple[int, int] = (0, 0)
    header_repeats: int = 0
    padded: int = 0
    _names: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.line = self.layout.data_line
        self._names = [str(column) for column in range(self.layout.width)]

    def read(self, block: bytes) -> Rows:
        """The rows of the next block. ReadError where it can't be understood."""
        lines = block.count(b"\n") + (not block.endswith(b"\n"))
        rows = None
        if not self.layout.ragged:
            rows = self._typed(block, lines) or self._as_text(block, lines)
        if rows is None:
            rows = self._row_by_row(block)
        self.line += lines
        return rows

    def _arrow(self, block: bytes, types: dict[str, Any], decimal: str) -> Any:
        """An Arrow table of the needed columns, None where the block can't be read so."""
        import pyarrow as pa
        from pyarrow import csv

        try:
            return csv.read_csv(
                pa.BufferReader(block),
                read_options=csv.ReadOptions(column_names=self._names, block_size=_INNER_BLOCK),
                parse_options=csv.ParseOptions(delimiter=self.layout.delimiter),
                convert_options=csv.ConvertOptions(
                    column_types=types,
                    include_columns=list(types),
                    null_values=MISSING_SPELLINGS,
                    strings_can_be_null=False,
                    decimal_point=decimal,
                ),
            )
        except (pa.ArrowInvalid, pa.ArrowKeyError, pa.ArrowNotImplementedError):
            return None

    def _typed(self, block: bytes, lines: int) -> Rows | None:
        """The quick way: Arrow reads stamps and numbers itself."""
        import pyarrow as pa

        common = self.columns[0].decimal
        types: dict[str, Any] = {str(column): pa.string() for column in self.plan.columns}
        if self.plan.form in ("iso offset", "iso local"):
            zone = "UTC" if self.plan.form == "iso offset" else None
            types[str(self.plan.columns[0])] = pa.timestamp("ns", zone)
        for column in self.columns:
            kind = pa.float32() if column.is_plain else pa.float64()
            types[str(column.index)] = kind if column.decimal == common else pa.string()
        table = self._arrow(block, types, common)
        if table is None or (b'"' in block and table.num_rows != lines):
            return None
        return self._finished(table, lines, self.line)

    def _as_text(self, block: bytes, lines: int) -> Rows | None:
        """The slower way: Arrow cuts the cells, and they are cleaned as whole columns."""
        import pyarrow as pa

        needed = [*self.plan.columns, *(column.index for column in self.columns)]
        table = self._arrow(block, {str(column): pa.string() for column in needed}, ".")
        if table is None or table.num_rows != lines:
            return None
        return self._finished(table, lines, self.line)

    def _finished(self, table: Any, lines: int, first: int) -> Rows | None:
        """None where a stamp is bad: then the lines must be looked at one by one."""
        stamps = self._stamps([table.column(str(column)) for column in self.plan.columns])
        if stamps is None or not stamps.valid.all():
            return None
        at = np.arange(first, first + table.num_rows) if table.num_rows == lines else None
        columns = {c.index: self._pieces(c, table.column(str(c.index)), at) for c in self.columns}
        self.rows_seen += table.num_rows
        return Rows(stamps, columns)

    def _row_by_row(self, block: bytes) -> Rows:
        """The slow way, for blocks with torn lines, repeated headers or words for times."""
        import pyarrow as pa

        kept, at = self._whole_lines(block)
        needed = [*self.plan.columns, *(column.index for column in self.columns)]
        texts = {column: pa.array([cells[column] for cells in kept], pa.string()) for column in needed}
        stamps = self._stamps([texts[column] for column in self.plan.columns])
        assert stamps is not None
        self._judge_stamps(kept, at, stamps.valid)
        self.rows_seen += len(kept)
        good = stamps.valid
        columns = {
            c.index: self._pieces(c, texts[c.index].filter(pa.array(good)), at[good]) for c in self.columns
        }
        return Rows(stamps.rows(good), columns)

    def _whole_lines(self, block: bytes) -> tuple[list[list[str]], NDArray[np.int64]]:
        width, ragged = self.layout.width, self.layout.ragged
        kept: list[list[str]] = []
        at: list[int] = []
        for line in lines_of(block, self.layout.delimiter, self.line):
            cells = line.cells
            if ragged and 2 <= len(cells) < width:
                self.padded += 1
                cells = cells + [""] * (width - len(cells))
            if len(cells) == width + 1 and not cells[-1].strip():
                cells = cells[:width]
            if len(cells) == width:
                kept.append(cells)
                at.append(line.number)
            else:
                self.repairs.bad_rows += 1
                self.rows_seen += 1
                self.odd_widths += 1
                if not self.first_odd_width[0]:
                    self.first_odd_width = line.number, len(cells)
        return kept, np.array(at, np.int64)

    def _judge_stamps(self, rows: list[list[str]], at: NDArray[np.int64], valid: NDArray[np.bool_]) -> None:
        for place in np.flatnonzero(~valid):
            cells = [" ".join(cell.replace("\ufeff", "").split()) for cell in rows[place]]
            header = list(self.layout.header)
            if cells == header or cells == [cell.strip() for cell in self.layout.unit_row]:
                self.header_repeats += 1
            elif any(cells[column] == header[column] and header[column] for column in self.plan.columns):
                raise ReadError(
                    "the columns change here",
                    where=f"{self.path}, line {at[place]}",
                    expected="the header of the file's beginning",
                    found=self.layout.delimiter.join(cells),
                    mend="split the file before this line and open the parts",
                )
            else:
                self.repairs.bad_rows += 1
                self.bad_stamps += 1
                if not self.first_bad_stamp[0]:
                    self.first_bad_stamp = (
                        int(at[place]),
                        " ".join(cells[c] for c in self.plan.columns).strip(),
                    )

    def _stamps(self, columns: list[Any]) -> Stamps | None:
        import pyarrow as pa
        import pyarrow.compute as pc

        arrays = [_one_array(column) for column in columns]
        if pa.types.is_timestamp(arrays[0].type):
            if arrays[0].null_count:
                return None
            ns = np.asarray(arrays[0].cast(pa.int64()))
            if not in_reach(ns).all():
                return None
            return exact_stamps(ns, self.plan.form == "iso offset")
        text = arrays[0] if len(arrays) == 1 else pc.binary_join_element_wise(*map(_trimmed, arrays), " ")
        if self.plan.form == "epoch":
            return epoch_stamps(text, self.plan.factor)
        return text_stamps(text, self.plan.offset)

    def _pieces(
        self, column: NumberColumn, cells: Any, at: NDArray[np.int64] | None
    ) -> list[NDArray[np.float32]]:
        import pyarrow as pa

        if not pa.types.is_floating(cells.type):
            return [self._from_text(column, _one_array(cells), at)]
        column.filled += len(cells) - cells.null_count
        pieces, first = [], 0
        for chunk in cells.chunks:
            values = chunk.to_numpy(zero_copy_only=False)
            bad = np.isinf(values)
            if bad.any():
                values = np.where(bad, np.nan, values)
                where = None if at is None else at[first:]
                self._count_bad(column, bad, None, where)
            pieces.append(self._in_channel_unit(column, values))
            first += len(chunk)
        return pieces

    def _from_text(
        self, column: NumberColumn, texts: Any, at: NDArray[np.int64] | None
    ) -> NDArray[np.float32]:
        if not column.settled and not column.switch:
            self._settle(column, texts)
        values, bad = numbers(texts, column.decimal, column.switch, column.suffix)
        column.filled += int(np.sum(~np.isnan(values))) + int(bad.sum())
        if bad.any():
            self._count_bad(column, bad, texts, at)
        return self._in_channel_unit(column, values)

    def _in_channel_unit(self, column: NumberColumn, values: NDArray[Any]) -> NDArray[np.float32]:
        if values.dtype == np.float32:
            return values
        with np.errstate(over="ignore"):
            stored: NDArray[np.float32] = (values * column.unit.scale + column.unit.offset).astype(np.float32)
        # What float32 can't hold is no reading of a plant.
        stored[np.isinf(stored)] = np.nan
        return stored

    def _settle(self, column: NumberColumn, texts: Any) -> None:
        """Look again at a column whose sample left its decimal sign open."""
        found = settle_decimal(without(text, column.suffix) for text in texts.to_pylist())
        if not found:
            return
        decimal = decimal_by(self.path, column.name, found, self.layout.delimiter)
        if decimal != column.decimal:
            raise DecimalChangesError(column.index, decimal)
        column.settled = len(found) == 1

    def _count_bad(
        self, column: NumberColumn, bad: NDArray[np.bool_], texts: Any, at: NDArray[np.int64] | None
    ) -> None:
        count = int(bad.sum())
        self.repairs.bad_cells += count
        if not column.bad:
            place = int(np.argmax(bad))
            line = int(at[place]) if at is not None else self.line + place
            column.first_bad = line, str(texts[place].as_py()) if texts is not None else "inf"
        column.bad += count

    def judge(self) -> None:
        """ReadError where too much of the table could not be read.

        Up to three bad cells of a channel, or 5 % of its filled ones, are taken for accidents, and the same of
        rows whose stamp can't be read. Of rows with another number of cells, 20 or 10 % are taken so.
        """
        if self.odd_widths > max(_SOME, _ODD_SHARE * self.rows_seen):
            line, width = self.first_odd_width
            raise ReadError(
                f"{self.odd_widths} rows have another number of cells",
                where=f"{self.path}, line {line}",
                expected=f"{self.layout.width} cells",
                found=width,
                mend="export with a delimiter that doesn't occur in cells, or with quoted cells",
            )
        for column in self.columns:
            if column.bad > max(_FEW, _SHARE * column.filled) or 0 < column.bad == column.filled:
                line, text = column.first_bad
                raise UnclearColumnsError(
                    f'column "{column.name}" has {column.bad} cells that are no numbers',
                    where=f"{self.path}, line {line}",
                    found=text,
                    mend="mend the cells, or name another column in the site sheet's [columns]",
                )
        if self.bad_stamps > max(_FEW, _SHARE * self.rows_seen):
            line, text = self.first_bad_stamp
            names = " and ".join(f'"{self.layout.header[column]}"' for column in self.plan.columns)
            raise ReadError(
                f"column {names} has {self.bad_stamps} cells that are no time",
                where=f"{self.path}, line {line}",
                expected=f"a time of the years {FIRST_YEAR} to {LAST_YEAR}",
                found=text,
                mend="write times as 2026-02-14 14:03:20",
            )


def _one_array(column: Any) -> Any:
    import pyarrow as pa

    return column.combine_chunks() if isinstance(column, pa.ChunkedArray) else column


def _trimmed(texts: Any) -> Any:
    import pyarrow.compute as pc

    return pc.fill_null(pc.utf8_trim_whitespace(texts), "")
