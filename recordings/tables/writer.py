"""Our own CSV: RFC 4180, ISO 8601 in UTC, one header row `channel [unit]`; reads back bit-equal."""

from __future__ import annotations

import contextlib
import io
import os
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from types import TracebackType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from recordings.channels import CHANNELS
from recordings.errors import RecordingError, WriteError
from recordings.files import replacing
from recordings.recording import Recording

_ROWS = 1 << 16
_DIGITS = ((10**9, "s"), (10**6, "ms"), (10**3, "us"), (1, "ns"))


def write_csv(recording: Recording, path: str | os.PathLike[str]) -> None:
    """Write a recording whole or not at all. WriteError, in one line, where that can't be done.

    A missing reading is an empty cell, and so is an infinite one, which no meter shows.
    """
    with replacing(path) as file:
        file.write(header_line(recording.channels))
        for start in range(0, len(recording), _ROWS):
            part = recording.rows(start, start + _ROWS)
            file.write(lines(part.time, {name: part.column(name) for name in part.channels}))


class TableWriter:
    """Our own CSV, written as rows come in. Use as a context manager, or call `close`.

    A file that is there already is carried on with if it has the same header; a torn last line is ended first.
    """

    def __init__(self, path: str | os.PathLike[str], channels: Iterable[str]) -> None:
        wanted = set(channels)
        if not wanted <= set(CHANNELS):
            raise RecordingError(f"unknown channel {min(wanted - set(CHANNELS))}")
        self.path = Path(path)
        self.channels = tuple(name for name in CHANNELS if name in wanted)
        self._last: int | None = None
        with _told(self.path):
            self._file = self.path.open("a+b")
        try:
            with _told(self.path):
                self._begin(header_line(self.channels))
        except BaseException:
            self._file.close()
            raise

    def append(self, time: Any, columns: Mapping[str, Any]) -> None:
        """Write rows: UTC nanoseconds that rise, and channel → values; channels not given are missing."""
        stamps = np.asarray(time, np.int64)
        foreign = set(columns) - set(self.channels)
        if foreign:
            raise RecordingError(f"the file has no column for {min(foreign)}", where=self.path)
        if len(stamps) and not (
            np.all(np.diff(stamps) > 0) and (self._last is None or int(stamps[0]) > self._last)
        ):
            raise RecordingError(
                "times don't rise", where=self.path, expected="each row later than the one before"
            )
        empty = np.full(len(stamps), np.nan, np.float32)
        cells = {name: np.asarray(columns.get(name, empty), np.float32) for name in self.channels}
        with _told(self.path):
            self._file.write(lines(stamps, cells))
        if len(stamps):
            self._last = int(stamps[-1])

    def flush(self) -> None:
        """Hand everything written so far to the operating system."""
        with _told(self.path):
            self._file.flush()

    def close(self) -> None:
        """Write out the rest and close the file."""
        with _told(self.path):
            self._file.close()

    def __enter__(self) -> TableWriter:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _begin(self, header: bytes) -> None:
        if not self._file.seek(0, io.SEEK_END):
            self._file.write(header)
            return
        self._file.seek(0)
        found = self._file.readline()
        if found.rstrip(b"\r\n") != header.rstrip(b"\r\n"):
            raise WriteError(
                "the file has other columns",
                where=self.path,
                found=found.decode("utf-8", "replace"),
                mend="choose another file name",
            )
        self._file.seek(-1, io.SEEK_END)
        if self._file.read(1) != b"\n":
            self._file.write(b"\r\n")


def header_line(channels: Iterable[str]) -> bytes:
    """The header row of these channels."""
    units = {name: f" [{CHANNELS[name].unit}]" if CHANNELS[name].unit else "" for name in channels}
    return (",".join(["time", *(name + unit for name, unit in units.items())]) + "\r\n").encode()


def lines(time: NDArray[np.int64], columns: Mapping[str, NDArray[np.float32]]) -> bytes:
    """Rows as CSV text. Values are the shortest decimals that read back as the same float32."""
    if not len(time):
        return b""
    import pyarrow as pa
    from pyarrow import csv

    arrays: dict[str, Any] = {"time": pa.array(_iso(time))}
    for name, values in columns.items():
        arrays[name] = pa.array(values, mask=~np.isfinite(values))
    sink = io.BytesIO()
    options = csv.WriteOptions(include_header=False, quoting_style="none")
    csv.write_csv(pa.table(arrays), sink, options)
    return sink.getvalue().replace(b"\n", b"\r\n")


def _iso(time: NDArray[np.int64]) -> NDArray[np.str_]:
    """ISO 8601 in UTC with as many digits as the finest of these instants needs."""
    divisor, unit = next((size, unit) for size, unit in _DIGITS if not np.any(time % size))
    texts: NDArray[np.str_] = np.datetime_as_string((time // divisor).astype(f"datetime64[{unit}]"))
    return np.char.add(texts, "Z")


@contextlib.contextmanager
def _told(path: Path) -> Iterator[None]:
    try:
        yield
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise WriteError(
            f"can't be written: {reason}", where=path, mend="choose another place or make room"
        ) from error
