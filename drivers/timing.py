"""The clock, the chance and the waiting that live sources go by, so that a test can hand in its own."""

from __future__ import annotations

import math
import random
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass


def _wait(event: threading.Event, seconds: float) -> bool:
    return event.wait(seconds)


@dataclass(frozen=True)
class Timing:
    """Where a source takes its time from.

    utc        the local clock, UTC nanoseconds
    monotonic  seconds that never go back
    chance     a number in [0, 1)
    wait       waits at most so many seconds for an event; True once it is set
    """

    utc: Callable[[], int] = time.time_ns
    monotonic: Callable[[], float] = time.monotonic
    chance: Callable[[], float] = random.random
    wait: Callable[[threading.Event, float], bool] = _wait


class RisingClock:
    """Stamps by the local clock that rise strictly, even where somebody sets that clock back.

    After a step back the stamps go on from where they were, at the pace of the monotonic clock: rows keep
    their distance, and no row comes before one that is already recorded.
    """

    def __init__(self, timing: Timing) -> None:
        self._timing = timing
        self._last: int | None = None
        self._at = 0.0

    def stamp(self, ago_s: float = 0.0) -> int:
        """Now (plus `ago_s` seconds), UTC nanoseconds, later than every stamp before."""
        now, at = self._timing.utc() + round(ago_s * 1e9), self._timing.monotonic() + ago_s
        if self._last is not None:
            paced = self._last + max(1, round((at - self._at) * 1e9))
            now = now if now > self._last else paced
        self._last, self._at = now, at
        return now


_NEAR_ENOUGH_S = 1e-6
"""Waiting for less than this may not move a clock at all."""


class Ticker:
    """Instants at whole multiples of an interval: sources of one process with one interval tick together."""

    def __init__(self, interval_s: float, timing: Timing) -> None:
        self.interval_s = interval_s
        self._timing = timing
        self._next = timing.monotonic()

    def wait(self, stopped: threading.Event) -> bool:
        """Wait for the next tick; ticks that were missed are left out. False once `stopped` is set."""
        while (left := self._next - self._timing.monotonic()) > _NEAR_ENOUGH_S:
            if self._timing.wait(stopped, left):
                return False
        self._next = self._after(self._timing.monotonic())
        return not stopped.is_set()

    def _after(self, now: float) -> float:
        following = (math.floor(now / self.interval_s) + 1) * self.interval_s
        # A timer that fires a hair early would else be given the same tick twice.
        return following if following - now > 0.05 * self.interval_s else following + self.interval_s
