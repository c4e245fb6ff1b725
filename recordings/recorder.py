"""Recording rows as they come, so that a power cut costs seconds: append-only, on the disk every second."""

from __future__ import annotations

import os
import time as clocks
from collections import deque
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from recordings.channels import CHANNELS
from recordings.errors import RecordingError, WriteError
from recordings.recorder_file import RowFile, reason
from recordings.recorder_lock import TakenError
from recordings.recorder_place import Place
from recordings.tables.writer import lines

FLUSH_S = 1.0
"""How often rows go to the disk, with fsync. What a power cut can cost."""

_ROWS_AT_ONCE = 20_000
_MOST_WAITING = 400_000


@dataclass(frozen=True, slots=True)
class _Piece:
    """Rows of one day: (n,) UTC nanoseconds and channel → (n,) values."""

    day: str
    time: NDArray[np.int64]
    columns: dict[str, NDArray[np.float32]]


class Recorder:
    """Writes rows to our own CSV. Use as a context manager, or call `close`. Not for two threads at once.

    target    `x.csv` for one file, a folder for a file per day of the site
    timezone  the site's, by whose dates the days are cut
    archive   turn the files of finished days into Parquet

    A full disk or a pulled stick stops nothing: rows wait in memory (the oldest give way in the end) and are
    written when there is room again; `trouble` says what is wrong meanwhile. A file never has half a row that
    another follows. WriteError only where there is nothing to write to from the beginning. The same goes for a
    file that somebody else is recording to; `taken` says so.

    Channels that are declared have a column in each new file, whether or not a value has come; rows that have a
    value of a channel without column begin a new part.

    rows     on the disk, written by this recorder
    waiting  rows that aren't there yet
    lost     rows that had to be given up because they could not be written for too long
    trouble  what is wrong at present, one line; "" while all is well
    taken    the error that says that somebody else is recording there at present
    paths    the files written so far, in order
    """

    def __init__(
        self,
        target: str | os.PathLike[str],
        *,
        timezone: str = "UTC",
        archive: bool = False,
        flush_s: float = FLUSH_S,
        now: Callable[[], float] = clocks.monotonic,
    ) -> None:
        self._place = Place(target, timezone)
        self._archive, self._flush_s, self._now = archive, flush_s, now
        self._pieces: deque[_Piece] = deque()
        self._declared: frozenset[str] = frozenset()
        self._file: RowFile | None = None
        self._day = ""
        self._due = now() + flush_s
        self._archive_trouble = ""
        self.rows = 0
        self.lost = 0
        self.waiting = 0
        self.trouble = ""
        self.taken: TakenError | None = None
        self.paths: list[Path] = []

    def declare(self, channels: Iterable[str]) -> None:
        """Have a column for these in each file that is begun from now on."""
        declared = self._declared.union(channels)
        unknown = declared - set(CHANNELS)
        if unknown:
            raise RecordingError(f"unknown channel {min(unknown)}")
        self._declared = declared

    def append(self, time: Any, columns: Mapping[str, Any]) -> None:
        """Take rows: UTC nanoseconds that rise, and channel → values; they go to the disk when it is due."""
        stamps = np.array(time, np.int64)
        if not np.all(np.diff(stamps) > 0):
            raise RecordingError("times don't rise", expected="each row later than the one before")
        cells = {name: np.array(values, np.float32) for name, values in columns.items()}
        unknown = set(cells) - set(CHANNELS)
        if unknown or any(values.shape != stamps.shape for values in cells.values()):
            raise RecordingError("rows that can't be recorded", found=min(unknown, default="unequal lengths"))
        start = 0
        for day, count in self._place.days(stamps) if len(stamps) else ():
            part = slice(start, start + count)
            self._pieces.append(_Piece(day, stamps[part], {name: each[part] for name, each in cells.items()}))
            start += count
        self.waiting += len(stamps)
        self.tick()

    def tick(self) -> None:
        """Write what waits, if it is due. To be called at least once a second."""
        if self._now() >= self._due:
            self.flush()

    def flush(self) -> None:
        """Put everything that waits on the disk now. Where that can't be done, `trouble` says why."""
        self._due = self._now() + self._flush_s
        while self._pieces:
            piece = self._joined()
            try:
                file = self._file_for(piece)
                file.commit(lines(piece.time, _in_order(file, piece)), int(piece.time[-1]))
            except (OSError, WriteError) as error:
                self._hold_back(piece, error)
                return
            self.rows += len(piece.time)
            self.waiting -= len(piece.time)
        self.trouble, self.taken = self._archive_trouble, None

    def close(self) -> None:
        """Write the rest and close the file whole. WriteError where rows could not be written to the last."""
        self.flush()
        if self._file is not None:
            self._file.close()
            self._file = None
        if self.waiting:
            count, self.waiting = self.waiting, 0
            self._pieces.clear()
            self.lost += count
            raise WriteError(
                f"the last {count} rows could not be written",
                where=self.paths[-1] if self.paths else self._place.target,
                mend="make room, and record again",
            )

    def __enter__(self) -> Recorder:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            self.close()
        except WriteError:
            # What went wrong before is the reason, and is told.
            if error is None:
                raise

    def _joined(self) -> _Piece:
        """The first pieces that wait, as one, as far as they are of one day and go on in time."""
        first = self._pieces.popleft()
        run, count = [first], len(first.time)
        while (
            self._pieces
            and count < _ROWS_AT_ONCE
            and self._pieces[0].day == first.day
            and self._pieces[0].time[0] > run[-1].time[-1]
        ):
            run.append(self._pieces.popleft())
            count += len(run[-1].time)
        if len(run) == 1:
            return first
        names = [name for name in CHANNELS if any(name in piece.columns for piece in run)]
        time = np.concatenate([piece.time for piece in run])
        return _Piece(
            first.day, time, {name: np.concatenate([_cells(piece, name) for piece in run]) for name in names}
        )

    def _file_for(self, piece: _Piece) -> RowFile:
        file, first = self._file, int(piece.time[0])
        needed = {name for name, values in piece.columns.items() if np.isfinite(values).any()}
        wanted = self._declared.union(piece.columns)
        if file is not None:
            goes_on = self._day == piece.day and (file.last is None or file.last < first)
            if goes_on and needed <= set(file.channels):
                return file
            wanted = wanted.union(file.channels)
            file.close()
            self._file = None
        if self._day != piece.day:
            self._archive_before(piece.day)
        file = self._file = self._place.open(piece.day, needed, wanted, first)
        self._day = piece.day
        if file.path not in self.paths:
            self.paths.append(file.path)
        return file

    def _hold_back(self, piece: _Piece, error: Exception) -> None:
        """Keep what could not be written for the next time; in the end the oldest rows give way."""
        self._pieces.appendleft(piece)
        while self.waiting > _MOST_WAITING and len(self._pieces) > 1:
            oldest = self._pieces.popleft()
            self.lost += len(oldest.time)
            self.waiting -= len(oldest.time)
        place = self._file.path if self._file is not None else self._place.target
        what = str(error) if isinstance(error, WriteError) else f"{place}: can't be written: {reason(error)}."
        given_up = f", {self.lost} were lost" if self.lost else ""
        self.taken = error if isinstance(error, TakenError) else None
        when = "it is free" if self.taken else "there is room"
        self.trouble = f"{what} {self.waiting} rows wait{given_up}; recording goes on when {when}"

    def _archive_before(self, day: str) -> None:
        if not self._archive:
            return
        from recordings.archive import archive

        self._archive_trouble = ""
        for path in self._place.finished(day):
            try:
                archive(path)
            except RecordingError as error:
                self._archive_trouble = str(error)


def _cells(piece: _Piece, name: str) -> NDArray[np.float32]:
    cells = piece.columns.get(name)
    return np.full(len(piece.time), np.nan, np.float32) if cells is None else cells


def _in_order(file: RowFile, piece: _Piece) -> dict[str, NDArray[np.float32]]:
    return {name: _cells(piece, name) for name in file.channels}
