"""Watching a live system: rows come in a thread, and are taken into a growing review in another."""

from __future__ import annotations

import math
import threading
import time
from collections import deque
from collections.abc import Callable
from pathlib import Path

import numpy as np

from desktop.live.frames import joined
from desktop.live.recording import Backlog, Recorded, Taping
from desktop.review.growing import GrowingReview
from desktop.site import Site
from drivers.reader import Reader
from drivers.source import Frame, Source, State
from recordings.errors import HeadraceError
from recordings.provenance import Provenance
from recordings.recording import Recording
from recordings.room import Spool

STALE_INTERVALS = 3.0

_LOOK_S = 0.25
_CLOSING_S = 1.0
_MOST_FRAMES = 4096
_ENOUGH_ROWS = 2
_RELEASE_S = 60.0
_LEAST_STALE_S = 1.0


class Watch:
    """One live system. Made, asked and stopped in one thread; rows come in threads of its own.

    site    the site's sheet
    notify  called from another thread whenever there is something to take or to tell; it must not block
    beside  called with each new file of a recording, to put the sheet beside it

    Rows lie in mapped files (`Spool`), all of them, so that weeks take no more memory than what is looked at.
    """

    def __init__(
        self,
        source: Source,
        site: Site,
        *,
        notify: Callable[[], None] | None = None,
        beside: Callable[[Path], object] | None = None,
    ) -> None:
        self.site = site
        self.review: GrowingReview | None = None
        self._notify = notify
        self._beside = beside or (lambda path: None)
        self._spool = Spool()
        self._recording = Recording(
            (), Provenance(name=source.name, timezone=site.site.timezone), self._spool
        )
        self._reader = Reader(source, notify=None)
        self._lock = threading.Lock()
        self._waiting: deque[Frame] = deque()
        self._taping: Taping | None = None
        self._orders: deque[Taping | None] = deque()
        self._latest: Taping | None = None
        self._stopping = threading.Event()
        self._pump = threading.Thread(target=self._run, name=f"watching {source.name}", daemon=True)
        self._came = math.nan
        self._released = time.monotonic()

    @property
    def name(self) -> str:
        """What to call the source."""
        return self._reader.source.name

    @property
    def state(self) -> State:
        """What the source is doing."""
        return self._reader.state

    @property
    def error(self) -> HeadraceError | None:
        """Why it has ended for good, where that was no one's wish."""
        return self._reader.error

    @property
    def running(self) -> bool:
        """True while rows may still come."""
        return self._reader.running_or_new or bool(self._waiting)

    @property
    def recording(self) -> Recording:
        """All rows taken so far."""
        return self._recording

    @property
    def age_s(self) -> float:
        """Seconds since the last row came; NaN before the first."""
        return time.monotonic() - self._came

    @property
    def stale(self) -> bool:
        """True where no row has come for three intervals."""
        interval_s = self.review.interval_s if self.review is not None else math.nan
        most_s = max(STALE_INTERVALS * interval_s, _LEAST_STALE_S) if interval_s > 0 else math.inf
        return self.age_s > most_s

    @property
    def recorded(self) -> Recorded | None:
        """How the latest recording is getting on; None where there was none."""
        return self._latest.told if self._latest is not None else None

    def start(self) -> Watch:
        """Begin to read."""
        self._reader.start()
        self._pump.start()
        return self

    def stop(self) -> bool:
        """End reading, recording and all work beside. True once every thread is gone."""
        gone = self._reader.stop(_CLOSING_S)
        self._stopping.set()
        if self._pump.ident is not None:
            self._pump.join(2 * _CLOSING_S)
        if self.review is not None:
            self.review.close()
        self._spool.close()
        return gone and not self._pump.is_alive()

    def take(self) -> int:
        """Take the rows that wait into the review; returns how many. HeadraceError where they can't be."""
        with self._lock:
            frames = [self._waiting.popleft() for _ in range(min(len(self._waiting), _MOST_FRAMES))]
            added = self._add(frames) if frames else 0
        if self.review is None and len(self._recording) >= _ENOUGH_ROWS:
            self.review = GrowingReview(self._recording, self.site)
        self._release()
        return added

    def record(self, target: Path) -> None:
        """Record into a file or a folder, from the first row that was watched. Done in another thread."""
        with self._lock:
            rows = self._recording.rows(0, len(self._recording))
            backlog = Backlog(rows, tuple(self._waiting))
            self._latest = Taping(target, self.site.site.timezone, backlog, self._channels, self._beside)
            self._orders.append(self._latest)

    def stop_recording(self) -> None:
        """Close the file whole; what was told of it stays."""
        with self._lock:
            self._orders.append(None)

    def _channels(self) -> tuple[str, ...]:
        return self._reader.source.channels

    def _add(self, frames: list[Frame]) -> int:
        last = int(self._recording.time[-1]) if len(self._recording) else None
        stamps, columns = joined(frames, last)
        if self.review is not None:
            self.review.extend(stamps, columns)
        else:
            self._recording.append(stamps, columns)
        return len(stamps)

    def _release(self) -> None:
        if time.monotonic() - self._released > _RELEASE_S:
            self._released = time.monotonic()
            self._spool.release()

    def _run(self) -> None:
        """The pump: from the source to the recording and to those that wait to be taken."""
        while True:
            going = self._reader.running_or_new
            frames = self._reader.take(_LOOK_S)
            with self._lock:
                self._waiting.extend(frames)
                orders, self._orders = self._orders, deque()
            self._obey(orders)
            if any(_fresh(frame) for frame in frames):
                self._came = time.monotonic()
            if self._taping is not None:
                self._taping.append(frames)
            if self._notify is not None:
                self._notify()
            if not frames and (self._stopping.is_set() or (not going and self._stopping.wait(_LOOK_S))):
                break
        self._obey(deque([*self._orders, None]))

    def _obey(self, orders: deque[Taping | None]) -> None:
        for order in orders:
            if self._taping is not None:
                self._taping.end()
            self._taping = order
            if order is not None:
                order.begin()


def _fresh(frame: Frame) -> bool:
    return any(bool(np.isfinite(values).any()) for values in frame.columns.values())
