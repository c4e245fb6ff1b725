"""Whether a device that still answers has stopped measuring: its own clock or counter stands still."""

from __future__ import annotations

_BEATS_TO_BELIEVE = 3


class Pulse:
    """Watches a number that a living device changes: its clock, or a heartbeat counter.

    A number that never moved is no pulse. One that moved a few times and then rests for longer than three
    intervals, and three times its own longest rest so far, means that what stands beside it is old.
    """

    def __init__(self, interval_s: float) -> None:
        self._patience = 3.0 * interval_s
        self._value: float | None = None
        self._since = 0.0
        self._beats = 0
        self._longest = 0.0

    def stale(self, value: float | None, now: float) -> bool:
        """Take one reading, with seconds of the monotonic clock. True where the readings beside it are old."""
        if value is None:
            return False
        if value == self._value:
            return self._beats >= _BEATS_TO_BELIEVE and now - self._since > self._patience_now()
        if self._value is not None:
            if self._beats < _BEATS_TO_BELIEVE:
                self._longest = max(self._longest, now - self._since)
            self._beats += 1
        self._value, self._since = value, now
        return False

    def _patience_now(self) -> float:
        return max(self._patience, 3.0 * self._longest)
