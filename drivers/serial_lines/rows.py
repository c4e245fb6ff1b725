"""Readings that come one after another, put together into rows."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from drivers.source import Frame

_ROUNDS = 3
"""How often in a row a channel must not have come to be no longer waited for."""


class Rows:
    """Makes rows of readings, each reading in one row only.

    A row is given when every channel has come (those that haven't for some rounds aren't waited for), or when one
    comes a second time: then a new round has begun. What a device sends in several lines so becomes one row, and
    a device that sends all in one line gives a row per line. What isn't full within an interval is given as it
    is, the rest of it missing.

    least_s  rows closer to each other than this are made one, with each channel's freshest reading
    """

    def __init__(self, channels: Sequence[str], interval_s: float, least_s: float = 0.0) -> None:
        self._channels = tuple(channels)
        self._interval_ns = round(interval_s * 1e9)
        self._least_ns = round(least_s * 1e9)
        self._at: dict[str, tuple[int, float]] = {}
        self._latest = 0
        self._absent = dict.fromkeys(self._channels, 0)
        self._due: int | None = None

    def take(self, stamp: int, readings: Mapping[str, float]) -> list[Frame]:
        """Readings of one line that came at an instant (UTC nanoseconds), and the rows that this completes."""
        frames: list[Frame] = []
        if any(channel in self._at for channel in readings) and self._may_give(self._latest):
            frames += self._give()
        self._at.update({channel: (stamp, value) for channel, value in readings.items()})
        self._latest = stamp
        if self._full() and self._may_give(stamp):
            frames += self._give()
        return frames

    def tick(self, stamp: int) -> list[Frame]:
        """It is now `stamp`: the row that has waited long enough."""
        if not self._at or stamp - min(at for at, _ in self._at.values()) < self._interval_ns:
            return []
        ended = stamp - self._latest >= self._interval_ns
        return self._give() if self._may_give(stamp if ended else self._latest) else []

    def missing(self, stamp: int) -> Frame:
        """A row of nothing: what is true while nothing comes."""
        self._at.clear()
        self._next_is_due(stamp)
        nothing = np.full(1, np.nan, np.float32)
        return Frame(np.array([stamp], np.int64), dict.fromkeys(self._channels, nothing))

    def _full(self) -> bool:
        return all(name in self._at for name, rounds in self._absent.items() if rounds < _ROUNDS)

    def _may_give(self, stamp: int) -> bool:
        # Lines come a little early now and then: that must not cost every other row.
        return self._due is None or stamp >= self._due - self._least_ns // 10

    def _next_is_due(self, stamp: int) -> None:
        late = self._due is None or stamp > self._due + self._least_ns
        self._due = (stamp if self._due is None or late else self._due) + self._least_ns

    def _give(self) -> list[Frame]:
        stamp = max(at for at, _ in self._at.values())
        oldest = stamp - max(self._interval_ns, self._least_ns)
        fresh = {channel: (at, value) for channel, (at, value) in self._at.items() if at >= oldest}
        self._at = {}
        self._next_is_due(stamp)
        self._absent = {name: 0 if name in fresh else rounds + 1 for name, rounds in self._absent.items()}
        columns = {
            name: np.array([fresh[name][1] if name in fresh else math.nan], np.float32)
            for name in self._channels
        }
        skew = {name: (stamp - at) / 1e9 for name, (at, _) in fresh.items() if at < stamp}
        return [Frame(np.array([stamp], np.int64), columns, skew)]
