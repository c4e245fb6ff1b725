"""The recording: one growing table of what was measured, a row per instant, a column per channel."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from recordings.channels import CHANNELS
from recordings.errors import RecordingError
from recordings.provenance import Provenance
from recordings.room import IN_MEMORY, Room

Times = NDArray[np.int64]
Values = NDArray[np.float32]

_GROWTH = 1.25
_LEAST_ROWS = 256


class Recording:
    """Rows of measured channels in time order, kept column by column.

    Times are UTC nanoseconds (int64) that rise strictly. Values are float32 in the channel's own unit and
    sign; a missing reading is NaN. Columns grow in place with some room to spare, so that appending costs
    what the new rows cost, and memory stays below twice the raw columns. Slices share the memory.

    room  where the columns lie
    """

    def __init__(
        self, channels: Iterable[str] = (), provenance: Provenance | None = None, room: Room = IN_MEMORY
    ) -> None:
        self.provenance = provenance or Provenance()
        self.room = room
        self._rows = 0
        self._time: Times = np.empty(0, np.int64)
        self._columns: dict[str, Values] = {}
        for name in channels:
            self._columns[_known(name)] = np.empty(0, np.float32)

    @classmethod
    def from_columns(
        cls, time: Any, columns: Mapping[str, Any], provenance: Provenance | None = None
    ) -> Recording:
        """A recording that takes these columns over (copied only where their type differs).

        time     (n,) UTC nanoseconds, strictly rising
        columns  channel name → (n,) values in the channel's unit and sign
        """
        recording = cls((), provenance)
        stamps, cells = _checked(time, columns, None)
        recording._time, recording._columns, recording._rows = stamps, cells, len(stamps)
        return recording

    def __len__(self) -> int:
        return self._rows

    def __contains__(self, channel: object) -> bool:
        return channel in self._columns

    @property
    def channels(self) -> tuple[str, ...]:
        """The channels that this recording has, in the vocabulary's order."""
        return tuple(name for name in CHANNELS if name in self._columns)

    @property
    def time(self) -> Times:
        """(n,) UTC nanoseconds, read-only."""
        return _locked(self._time[: self._rows])

    def column(self, channel: str) -> Values:
        """(n,) readings of a channel, read-only. RecordingError where the recording doesn't have it."""
        if channel not in self._columns:
            raise RecordingError(f"the recording has no channel {channel}", where=self.provenance.name)
        return _locked(self._columns[channel][: self._rows])

    def append(self, time: Any, columns: Mapping[str, Any]) -> None:
        """Add rows at the end.

        A channel that is new here is NaN in the rows before; one that is not given is NaN in the new rows.
        RecordingError where times don't rise strictly, lengths differ or a channel is unknown; nothing is
        then added.
        """
        last = int(self._time[self._rows - 1]) if self._rows else None
        stamps, cells = _checked(time, columns, last)
        start, stop = self._rows, self._rows + len(stamps)
        self._reserve(stop)
        for name in cells:
            if name not in self._columns:
                column = self.room.longer(np.empty(0, np.float32), 0, len(self._time))
                column[:start] = np.nan
                self._columns[name] = column
        self._time[start:stop] = stamps
        for name, store in self._columns.items():
            store[start:stop] = cells.get(name, np.float32(np.nan))
        self._rows = stop

    def rows(self, start: int, stop: int) -> Recording:
        """The rows [start, stop) as a recording that shares this one's memory. Appending to it copies."""
        start, stop, _ = slice(start, stop).indices(self._rows)
        part = Recording((), self.provenance)
        part._time = self._time[start:stop]
        part._columns = {name: store[start:stop] for name, store in self._columns.items()}
        part._rows = max(0, stop - start)
        return part

    def between(self, start: int, stop: int) -> Recording:
        """The rows with start ≤ time < stop (UTC nanoseconds), sharing memory."""
        first, last = np.searchsorted(self.time, (start, stop))
        return self.rows(int(first), int(last))

    def row_at(self, instant: int) -> int:
        """The last row at or before an instant (UTC nanoseconds); 0 before the first, -1 with no rows."""
        if not self._rows:
            return -1
        return max(0, int(np.searchsorted(self.time, instant, side="right")) - 1)

    def _reserve(self, rows: int) -> None:
        # Views made by rows() are exactly as long as their parent's rows: growing copies, never overwrites.
        if rows <= len(self._time):
            return
        room = max(rows, int(self._rows * _GROWTH), _LEAST_ROWS)
        self._time = self.room.longer(self._time, self._rows, room)
        for name, store in self._columns.items():
            self._columns[name] = self.room.longer(store, self._rows, room)


def _locked(view: NDArray[Any]) -> NDArray[Any]:
    view = view.view()
    view.flags.writeable = False
    return view


def _known(name: str) -> str:
    if name not in CHANNELS:
        raise RecordingError(f"unknown channel {name}", mend="use a channel of the vocabulary")
    return name


def _checked(time: Any, columns: Mapping[str, Any], last: int | None) -> tuple[Times, dict[str, Values]]:
    stamps = np.ascontiguousarray(time)
    if stamps.dtype.kind == "M":
        stamps = stamps.astype("datetime64[ns]").view(np.int64)
    if stamps.dtype.kind not in "iu" and len(stamps):
        raise RecordingError("times must be whole UTC nanoseconds", found=str(stamps.dtype))
    stamps = stamps.astype(np.int64, copy=False)
    rising = bool(np.all(stamps[1:] > stamps[:-1])) and (last is None or not len(stamps) or stamps[0] > last)
    if not rising:
        raise RecordingError("times don't rise", expected="each row later than the one before")
    cells: dict[str, Values] = {}
    for name, values in columns.items():
        cells[_known(name)] = np.ascontiguousarray(values, dtype=np.float32)
        if cells[name].shape != stamps.shape:
            raise RecordingError(
                f"column {name} has another length", expected=f"{len(stamps)} rows", found=len(cells[name])
            )
    return stamps, cells
