"""One append-only file of a recording: rows are on the disk whole, or not at all."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterable
from pathlib import Path

from recordings.channels import CHANNELS
from recordings.errors import WriteError
from recordings.recorder_lock import TakenError, locked
from recordings.recorder_tail import look_at_tail
from recordings.tables.writer import header_line


class RowFile:
    """A CSV file of our own that only grows. WriteError where it can't be begun or carried on.

    A file that is there is carried on with; what a power cut left of its last row is cut off first.

    channels  its columns, in the vocabulary's order
    last      UTC nanoseconds of its last row; None without rows
    dropped   bytes that were cut off the end when it was opened
    """

    def __init__(self, path: Path, channels: Iterable[str]) -> None:
        self.path = path
        wanted = set(channels)
        self.channels = tuple(name for name in CHANNELS if name in wanted)
        self.last: int | None = None
        self.dropped = 0
        try:
            self._file = path.open("a+b", buffering=0)
        except OSError as error:
            raise _cannot(path, error) from error
        try:
            self._begin()
        except BaseException as error:
            # An empty file of somebody else is about to get its header.
            if not isinstance(error, TakenError) and os.fstat(self._file.fileno()).st_size == 0:
                with contextlib.suppress(OSError):
                    path.unlink()
            self._file.close()
            if isinstance(error, OSError):
                raise _cannot(path, error) from error
            raise

    def commit(self, rows: bytes, last: int) -> None:
        """Put whole rows on the disk, the last of them of this instant. OSError: then none of them is there."""
        self._write(rows)
        self.last = last

    def close(self) -> None:
        """Close the file, whole."""
        with contextlib.suppress(OSError):
            self._trim()
        self._file.close()

    def _begin(self) -> None:
        handle = self._file.fileno()
        if not locked(handle) or not os.path.samestat(os.fstat(handle), self.path.stat()):
            # Or somebody has taken it away between our opening it and its being ours.
            raise TakenError("is being recorded to already", where=self.path, mend="choose another file name")
        with self.path.open("rb") as reading:
            tail = look_at_tail(reading)
            size = reading.seek(0, os.SEEK_END)
        if tail is None:
            raise _no_recording(self.path)
        self._whole, self.last = tail.whole, tail.last
        self.dropped = size - tail.whole
        if tail.channels:
            self.channels = tail.channels
            self._trim()
            return
        self.dropped = 0
        self._write(header_line(self.channels))
        _keep_name(self.path.parent)

    def _write(self, content: bytes) -> None:
        # An earlier failure may have left half a row behind, and may have kept us from cutting it off.
        self._trim()
        rest = memoryview(content)
        try:
            while rest:
                rest = rest[self._file.write(rest) :]
            os.fsync(self._file.fileno())
        except OSError:
            with contextlib.suppress(OSError):
                self._trim()
            raise
        self._whole += len(content)

    def _trim(self) -> None:
        if os.fstat(self._file.fileno()).st_size != self._whole:
            os.ftruncate(self._file.fileno(), self._whole)


def check(path: Path) -> None:
    """WriteError where a file that is there can't be carried on with."""
    try:
        with path.open("rb") as file:
            tail = look_at_tail(file)
    except OSError as error:
        raise _cannot(path, error) from error
    if tail is None:
        raise _no_recording(path)
    if tail.channels:
        RowFile(path, tail.channels).close()


def reason(error: Exception) -> str:
    """What the operating system says is wrong, one clause."""
    return getattr(error, "strerror", None) or str(error)


def _cannot(path: Path, error: OSError) -> WriteError:
    return WriteError(
        f"can't be written: {reason(error)}", where=path, mend="choose another place or make room"
    )


def _no_recording(path: Path) -> WriteError:
    return WriteError("is no recording that can be carried on", where=path, mend="choose another file name")


def _keep_name(folder: Path) -> None:
    """Have the folder remember a new file's name through a power cut, where the system offers that."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
