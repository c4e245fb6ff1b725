"""A recording played again as if it came from devices."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from drivers.source import Frame, State
from drivers.timing import Timing
from recordings.recording import Recording

_LONGEST_WAIT_S = 0.25
_NEAR_ENOUGH_S = 1e-6


class PlayedSource:
    """Gives the rows of a recording at the pace at which they were measured.

    speed    2.0 plays twice as fast; infinite: all at once
    shifted  True: rows are stamped as if they were measured now; False: as they were
    """

    def __init__(
        self,
        recording: Recording,
        *,
        name: str = "",
        speed: float = 1.0,
        shifted: bool = True,
        timing: Timing | None = None,
    ) -> None:
        self._recording, self._speed, self._shifted = recording, speed, shifted
        self._name = name or recording.provenance.name
        self._timing = timing or Timing()
        self._stopped = threading.Event()
        self._state = State("connecting", self._timing.utc())

    @property
    def name(self) -> str:
        """The recording's name."""
        return self._name

    @property
    def state(self) -> State:
        """What it is doing now."""
        return self._state

    @property
    def channels(self) -> tuple[str, ...]:
        """The recording's channels."""
        return self._recording.channels

    def stop(self) -> None:
        """Make `frames` end at once."""
        self._stopped.set()

    def frames(self) -> Iterator[Frame]:
        """The rows, each when its time has come; those that are due together come in one frame."""
        began, begun_at = self._timing.utc(), self._timing.monotonic()
        self._state = State("reading", began)
        time = self._recording.time
        elapsed_s = (time - time[0]) / 1e9 / self._speed if len(time) else np.empty(0)
        first, reason = 0, "the recording has ended"
        while first < len(time):
            now_s = self._timing.monotonic() - begun_at
            stop = int(np.searchsorted(elapsed_s, now_s + _NEAR_ENOUGH_S, side="right"))
            if stop > first:
                yield self._frame(first, stop, began, elapsed_s)
                first = stop
            elif self._timing.wait(self._stopped, min(_LONGEST_WAIT_S, elapsed_s[first] - now_s)):
                break
            if self._stopped.is_set():
                break
        if self._stopped.is_set():
            reason = "stopped"
        self._state = State("ended", self._timing.utc(), reason)

    def _frame(self, first: int, stop: int, began: int, elapsed_s: NDArray[np.float64]) -> Frame:
        rows = self._recording.rows(first, stop)
        time = np.array(rows.time)
        if self._shifted and np.isfinite(self._speed):
            time = began + np.round(elapsed_s[first:stop] * 1e9).astype(np.int64)
            # Rows closer than a nanosecond at a high speed still rise.
            time = np.maximum.accumulate(time - np.arange(len(time))) + np.arange(len(time))
        elif self._shifted:
            time = time - time[0] + began
        return Frame(time, {channel: rows.column(channel) for channel in rows.channels})
