"""What was read at a row, or shortly before it."""

from __future__ import annotations

import math

import numpy as np

from recordings.recording import Recording

FOREVER = math.inf

_CHUNK = 1024


class Readings:
    """The readings that hold at a row of a recording."""

    def __init__(self, recording: Recording, row: int) -> None:
        self._recording = recording
        self._row = row

    def __contains__(self, channel: object) -> bool:
        return channel in self._recording

    def get(self, channel: str, hold_s: float = 0.0) -> float:
        """The latest reading of a channel that is at most `hold_s` old; NaN where there is none."""
        if channel not in self._recording or self._row < 0:
            return math.nan
        column = self._recording.column(channel)
        newest = float(column[self._row])
        if math.isfinite(newest) or hold_s <= 0:
            return newest
        row = self._latest_known(column, hold_s)
        return float(column[row]) if row is not None else math.nan

    def _latest_known(self, column: np.ndarray, hold_s: float) -> int | None:
        time = self._recording.time
        stop, chunk = self._row, _CHUNK
        while stop > 0:
            start = max(0, stop - chunk)
            known = np.flatnonzero(np.isfinite(column[start:stop]))
            if known.size:
                row = start + int(known[-1])
                return row if int(time[self._row]) - int(time[row]) <= hold_s * 1e9 else None
            if int(time[self._row]) - int(time[start]) > hold_s * 1e9:
                return None
            stop, chunk = start, 4 * chunk
        return None
