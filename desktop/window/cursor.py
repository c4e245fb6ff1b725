"""The one instant that everything in the window shows, and which instant tells most. Qt-free."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from desktop.charging.sessions import Session
from desktop.diagnosis.finding import SEVERITIES, Finding
from recordings.recording import Recording

Watcher = Callable[[int], None]


class Cursor:
    """An instant (UTC nanoseconds) within [first, last]. Whoever watches is told of every change.

    live    what is shown grows: at the end the cursor is pinned, and goes with it until it is moved back
    pinned  it goes with the end
    """

    def __init__(self) -> None:
        self.first = 0
        self.last = 0
        self.live = False
        self.pinned = False
        self._instant = 0
        self._watchers: list[Watcher] = []

    @property
    def instant(self) -> int:
        """Where it stands."""
        return self._instant

    def watch(self, watcher: Watcher) -> None:
        """Call this with the instant after every change."""
        self._watchers.append(watcher)

    def set_range(self, first: int, last: int) -> None:
        """The recording's ends; the cursor is brought inside, or goes with the end, without a word."""
        self.first, self.last = first, max(first, last)
        self._instant = self.last if self.pinned else min(max(self._instant, self.first), self.last)

    def set_live(self, live: bool) -> None:
        """Whether what is shown grows."""
        self.live = live
        self.pinned = self.pinned and live

    def place(self, instant: int) -> None:
        """Be at an instant, as near as there is, without a word."""
        self._instant = min(max(int(instant), self.first), self.last)
        self.pinned = self.live and self._instant == self.last

    def move(self, instant: int) -> None:
        """Go to an instant, as near as there is; at the end of what grows it is pinned."""
        before = self._instant, self.pinned
        self.place(instant)
        if (self._instant, self.pinned) != before:
            self._tell()

    def release(self) -> None:
        """Stay here while what is shown grows."""
        if self.pinned:
            self.pinned = False
            self._tell()

    def _tell(self) -> None:
        for watcher in self._watchers:
            watcher(self._instant)


class Told(Protocol):
    """What a review tells that matters here."""

    @property
    def recording(self) -> Recording:
        """What was measured."""

    @property
    def findings(self) -> Sequence[Finding]:
        """What was wrong."""

    @property
    def sessions(self) -> Sequence[Session]:
        """When the generator carried load."""

    def stream(self, name: str) -> NDArray[np.float32]:
        """(n,) reconciled power of a stream, W."""


def most_telling(review: Told) -> int:
    """The instant to show first: in the most urgent finding, else in the longest session, else the busiest.

    The busiest is the one in which the battery is charged hardest; the end, where nothing tells. In a finding it
    is its first third: late enough to see what came of it, early enough to see it stand.
    """
    time = review.recording.time
    if not len(time):
        return 0
    last = int(time[-1])
    urgent = [each for each in review.findings if each.severity != "note"]
    if urgent:
        worst = min(urgent, key=lambda each: (SEVERITIES.index(each.severity), each.start))
        end = last if worst.end is None else worst.end
        return worst.start + (end - worst.start) // 3
    if review.sessions:
        longest = max(review.sessions, key=lambda each: each.end - each.start)
        return (longest.start + longest.end) // 2
    charged = np.nan_to_num(review.stream("battery"), nan=0.0)
    return int(time[int(charged.argmax())]) if charged.max() > 0 else last
