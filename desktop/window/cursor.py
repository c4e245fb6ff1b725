"""The one instant that everything in the window shows. Qt-free."""

from __future__ import annotations

from collections.abc import Callable

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
