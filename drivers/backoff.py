"""How long to wait before the next try: longer each time, and never in step with others."""

from __future__ import annotations

from collections.abc import Callable


class Backoff:
    """Delays that double from `first` to `most` seconds, each drawn from the upper half of its span.

    The jitter keeps many clients from knocking at one device in step after a power cut.
    """

    def __init__(self, chance: Callable[[], float], first: float = 0.5, most: float = 30.0) -> None:
        self._chance = chance
        self._first, self._most = first, most
        self._span = first

    def next(self) -> float:
        """The next delay, s: within [first, most]."""
        delay = max(self._first, self._span * (0.5 + 0.5 * self._chance()))
        self._span = min(self._most, 2 * self._span)
        return delay

    def reset(self) -> None:
        """Start again from the shortest delay: the device has answered."""
        self._span = self._first
