"""Finished days as Parquet: a fraction of the room, and every bit of the CSV."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from recordings.channels import CHANNELS, POWERS
from recordings.errors import ReadError, WriteError
from recordings.files import replacing
from recordings.provenance import ColumnReading, Provenance
from recordings.recorder_tail import channels_of
from recordings.recording import Recording

SUFFIX = ".parquet"

_Columns = dict[str, NDArray[np.float32]]


def archive(path: str | os.PathLike[str]) -> Path:
    """Turn one of our own CSV files into Parquet of the same name; the CSV goes once that reads back bit-equal.

    ReadError where it isn't one of ours, or isn't whole; WriteError where there is no room. The CSV then stays.
    """
    source = Path(path)
    target = source.with_suffix(SUFFIX)
    if target.exists():
        raise WriteError("is there already", where=target, mend="move it away")
    time, columns = _own_csv(source)
    _write(target, time, columns)
    again, cells = _parquet(target)
    if again.tobytes() != time.tobytes() or _bits(cells) != _bits(columns):
        target.unlink()
        raise WriteError("doesn't read back as it was written", where=target, mend="check the disk")
    try:
        source.unlink()
    except OSError as error:
        raise WriteError(f"can't be removed: {error.strerror}", where=source) from error
    return target


def is_archive(path: str | os.PathLike[str]) -> bool:
    """True where a file's name says that it is an archive."""
    return Path(path).suffix.lower() == SUFFIX


def read_archive(path: str | os.PathLike[str]) -> Recording:
    """A recording from a Parquet archive. ReadError, in one line, where it can't be used as one."""
    time, columns = _parquet(Path(path))
    rising = bool(np.all(np.diff(time) > 0))
    if len(time) < 2 or not rising or not set(columns) & set(POWERS):
        raise ReadError(
            "is no recording",
            where=path,
            expected="two rows or more in rising order of time, and a power channel",
            found=f"{len(time)} rows of {', '.join(columns) or 'nothing'}",
        )
    readings = {name: ColumnReading(name, CHANNELS[name].unit, 1, "by its own name") for name in columns}
    return Recording.from_columns(time, columns, Provenance(Path(path).name, str(path), readings))


def _own_csv(path: Path) -> tuple[NDArray[np.int64], _Columns]:
    import pyarrow as pa
    from pyarrow import csv

    try:
        with path.open("rb") as file:
            channels = channels_of(file.readline())
            file.seek(-2, os.SEEK_END)
            ends_whole = file.read() == b"\r\n"
        if not channels or not ends_whole:
            raise ReadError("is no finished recording of ours", where=path)
        names = ["time", *channels]
        types = {"time": pa.string(), **{name: pa.float32() for name in channels}}
        table = csv.read_csv(
            path,
            read_options=csv.ReadOptions(column_names=names, skip_rows=1),
            convert_options=csv.ConvertOptions(column_types=types, null_values=[""]),
        )
        stamps = table["time"].to_numpy(zero_copy_only=False).astype("U")
        time = np.char.rstrip(stamps, "Z").astype("datetime64[ns]").astype(np.int64)
    except (OSError, ValueError) as error:
        raise ReadError(
            f"can't be archived: {getattr(error, 'strerror', None) or error}", where=path
        ) from error
    return time, {name: _cells(table[name]) for name in channels}


def _write(path: Path, time: NDArray[np.int64], columns: _Columns) -> None:
    import pyarrow as pa
    from pyarrow import parquet

    arrays = {"time": pa.array(time, pa.timestamp("ns", "UTC"))}
    for name, values in columns.items():
        arrays[name] = pa.array(values, mask=np.isnan(values))
    described = pa.table(arrays).replace_schema_metadata({"units": " ".join(map(_with_unit, columns))})
    with replacing(path) as file:
        parquet.write_table(
            described,
            file,
            compression="zstd",
            compression_level=9,
            use_dictionary=list(columns),
            column_encoding={"time": "DELTA_BINARY_PACKED"},
        )
        file.flush()
        os.fsync(file.fileno())


def _with_unit(name: str) -> str:
    return f"{name}[{CHANNELS[name].unit}]"


def _parquet(path: Path) -> tuple[NDArray[np.int64], _Columns]:
    import pyarrow as pa
    from pyarrow import parquet

    try:
        table = parquet.read_table(path)
    except (OSError, ValueError) as error:
        told = getattr(error, "strerror", None) or str(error).splitlines()[0]
        raise ReadError(f"can't be read: {told}", where=path, mend="choose a recording") from error
    stamp = table.schema.field("time").type if "time" in table.schema.names else None
    names = [name for name in table.schema.names if name in CHANNELS]
    numbers = all(pa.types.is_float32(table.schema.field(name).type) for name in names)
    if stamp is None or not pa.types.is_timestamp(stamp) or stamp.unit != "ns" or not numbers:
        raise ReadError(
            "is no archive of a recording", where=path, expected="a column time and channels as float32"
        )
    time = table["time"].to_numpy(zero_copy_only=False).astype("datetime64[ns]").astype(np.int64)
    return time, {name: _cells(table[name]) for name in names}


def _cells(column: Any) -> NDArray[np.float32]:
    cells: NDArray[np.float32] = column.to_numpy(zero_copy_only=False).astype(np.float32)
    cells[np.isnan(cells)] = np.nan
    return cells


def _bits(columns: _Columns) -> dict[str, bytes]:
    return {name: values.tobytes() for name, values in columns.items()}
