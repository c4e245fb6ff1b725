"""Where a recording goes: one file, or a folder with a file for each day of the site; in parts where need be."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from recordings.errors import UsageError, WriteError
from recordings.recorder_file import RowFile, check
from recordings.recorder_lock import TakenError
from recordings.tables.zones import zone_named

_SECOND = 1_000_000_000
_NAME_OF_DAY = re.compile(r"(\d{4}-\d\d-\d\d)(?:_\d+)?\.csv")


class Place:
    """What was asked for with a path: `x.csv` is that one file, anything without ending is a folder of days.

    A further part of `x.csv` is `x_2.csv`, and so on: it is begun where the file can't be carried on with,
    because a channel came that it has no column for, or because the clock went back.
    """

    def __init__(self, target: str | os.PathLike[str], timezone: str) -> None:
        text = os.fspath(target)
        self.target = Path(target)
        self.daily = self.target.is_dir() or text.endswith(("/", os.sep)) or not self.target.suffix
        self._zone = zone_named(timezone, "the site's time zone")
        self._today = ("", 0, 0)
        if not self.daily and self.target.suffix.lower() != ".csv":
            raise UsageError(
                "can't be recorded to",
                where=target,
                expected="a name that ends in .csv, or a folder",
                found=self.target.suffix,
            )
        self._check()

    def days(self, time: NDArray[np.int64]) -> list[tuple[str, int]]:
        """(day, rows) of rising instants, in order: how many of them belong to each day's file."""
        if not self.daily:
            return [("", len(time))]
        pieces: list[tuple[str, int]] = []
        start = 0
        while start < len(time):
            day, ends = self._day(int(time[start]))
            stop = start + int(np.searchsorted(time[start:], ends))
            pieces.append((day, stop - start))
            start = stop
        return pieces

    def open(self, day: str, needed: Iterable[str], wanted: Iterable[str], first: int) -> RowFile:
        """A file for rows of a day that begin at an instant (UTC nanoseconds).

        needed  the channels that it must have a column for
        wanted  those that it gets a column for if it is new
        TakenError where somebody else is recording there.
        """
        needed = frozenset(needed)
        wanted = needed.union(wanted)
        if self.daily:
            self._make_folder()
        number = self._last_part(day)
        for part in count(number):
            path = self._part(day, part)
            there = path.exists()
            try:
                file = RowFile(path, wanted)
            except TakenError:
                raise
            except WriteError as error:
                if not there or isinstance(error.__cause__, OSError):
                    raise
                continue
            if needed <= set(file.channels) and (file.last is None or file.last < first):
                return file
            file.close()
        raise AssertionError("count() is endless")

    def finished(self, day: str) -> list[Path]:
        """The files of days before this one that still lie there as CSV."""
        if not self.daily or not self.target.is_dir():
            return []
        named = {path: _NAME_OF_DAY.fullmatch(path.name) for path in self.target.iterdir()}
        return sorted(path for path, match in named.items() if match and match[1] < day)

    def _day(self, instant: int) -> tuple[str, int]:
        """The site's date at an instant, and when it ends (UTC nanoseconds)."""
        day, begins, ends = self._today
        if begins <= instant < ends:
            return day, ends
        local = datetime.fromtimestamp(instant // _SECOND, UTC).astimezone(self._zone)
        low, high = instant // _SECOND, instant // _SECOND + 27 * 3600
        while high - low > 1:
            middle = (low + high) // 2
            later = datetime.fromtimestamp(middle, UTC).astimezone(self._zone).date() > local.date()
            low, high = (low, middle) if later else (middle, high)
        day, ends = f"{local:%Y-%m-%d}", high * _SECOND
        self._today = (day, instant, ends)
        return day, ends

    def _part(self, day: str, part: int) -> Path:
        base = self.target / f"{day}.csv" if self.daily else self.target
        return base if part == 1 else base.with_name(f"{base.stem}_{part}{base.suffix}")

    def _last_part(self, day: str) -> int:
        return max(1, next(part for part in count(1) if not self._part(day, part).exists()) - 1)

    def _make_folder(self) -> None:
        try:
            self.target.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise _cannot(self.target, error.strerror or "no folder") from error

    def _check(self) -> None:
        if self.daily:
            self._make_folder()
        folder = self.target if self.daily else self.target.parent
        if not folder.is_dir():
            raise _cannot(self.target, f"there is no folder {folder}")
        if not os.access(folder, os.W_OK):
            raise _cannot(self.target, "the folder is closed to writing")
        if not self.daily and self.target.exists():
            check(self.target)


def _cannot(path: Path, why: str) -> WriteError:
    return WriteError(f"can't be written: {why}", where=path, mend="choose another place")
