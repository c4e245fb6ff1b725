"""What is watched, told in the window's own thread: a source's rows become a review that grows."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QObject, QTimer, Signal

from desktop.window.live.lull import Lull
from desktop.window.live.wish import Wish
from desktop.window.opening import Ready, prepared
from desktop.window.parts.latest import Latest
from recordings.errors import HeadraceError
from recordings.recording import Recording

if TYPE_CHECKING:
    from desktop.live.recording import Recorded
    from desktop.live.watch import Watch
    from drivers.source import State

_LOOK_MS = 500
_WAIT_S = 5.0
_BACK_ROWS = 4096

Open = Callable[[Wish, Callable[[], None]], "Watch"]


class Watching(QObject):
    """Watches one live system at a time.

    began     a system is watched now; there is nothing to show of it yet
    appeared  there are rows enough to show (Ready)
    grew      there are more rows, or more is known of them
    told      what it is doing, or how the recording is getting on, may be something else now
    failed    it can't be watched (one line)
    """

    began = Signal()
    appeared = Signal(object)
    grew = Signal()
    told = Signal()
    failed = Signal(str)
    _noticed = Signal(int)
    _made = Signal(int, object)

    def __init__(self, parent: QObject | None = None, open_one: Open | None = None) -> None:
        super().__init__(parent)
        self._open_one = open_one or _opened
        self._latest = Latest("opening a source", _WAIT_S)
        self._told_of = threading.Event()
        self.wish: Wish | None = None
        self.watch: Watch | None = None
        self.ready: Ready | None = None
        self._records = False
        self._timer = QTimer(self)
        self._timer.setInterval(_LOOK_MS)
        self._timer.timeout.connect(self._look)
        self._noticed.connect(self._take)
        self._made.connect(self._begin)

    # What is asked of it

    def open(self, wish: Wish) -> None:
        """Watch another system; what was watched before goes on until this one is found to be possible."""
        self._latest.begin(self._work, wish)

    def stop(self) -> None:
        """Watch no more. What was watched can still be looked at; a recording is closed whole."""
        self._latest.drop()
        self._timer.stop()
        watch, self.watch, self.ready = self.watch, None, None
        self._records = False
        if watch is not None:
            watch.stop()
            self.told.emit()

    def close(self) -> None:
        """Stop, and wait until every thread has ended."""
        self.stop()
        self._latest.close()

    def record(self, target: Path) -> None:
        """Record into a file or a folder, from the first row that was watched on."""
        if self.watch is not None:
            self.watch.record(target)
            self._records = True
            self.told.emit()

    def stop_recording(self) -> None:
        """Close the recording whole."""
        if self.watch is not None and self._records:
            self.watch.stop_recording()
            self._records = False
            self.told.emit()

    # What it is doing

    @property
    def name(self) -> str:
        """What to call the system that is watched; "" for none."""
        if self.watch is None:
            return ""
        return self.watch.site.site.name or self.watch.name

    @property
    def state(self) -> State | None:
        """What the source is doing; None where none is watched."""
        return self.watch.state if self.watch is not None else None

    @property
    def why(self) -> str:
        """Why it waits or has ended, one clause; "" otherwise."""
        if self.watch is None:
            return ""
        error = self.watch.error
        return str(error) if error is not None else self.watch.state.reason

    @property
    def age_s(self) -> float:
        """Seconds since the newest reading; NaN before the first, and where nothing is watched."""
        return self.watch.age_s if self.watch is not None else float("nan")

    @property
    def recorded(self) -> Recorded | None:
        """How the latest recording is getting on; None where there was none."""
        return self.watch.recorded if self.watch is not None else None

    @property
    def recording_on(self) -> bool:
        """Whether more rows will be written."""
        recorded = self.recorded
        return self._records and recorded is not None and recorded.active

    @property
    def lull(self) -> Lull | None:
        """That readings have stopped coming, and since when; None while they come."""
        if self.watch is None or self.ready is None:
            return None
        if not self.watch.stale and self.watch.state.phase != "ended":
            return None
        return Lull(last_read(self.ready.review.recording), self.why)

    # In its threads, and back from there

    def _work(self, token: int, wish: Wish) -> None:
        def notify() -> None:
            # Many rows may come before the window finds time for one look at them.
            if not self._told_of.is_set():
                self._told_of.set()
                self._noticed.emit(token)

        made: Watch | str
        try:
            made = self._open_one(wish, notify)
        except HeadraceError as error:
            made = str(error)
        if self._latest.counts(token):
            self._made.emit(token, (wish, made))

    def _begin(self, token: int, found: tuple[Wish, Watch | str]) -> None:
        if not self._latest.counts(token):
            return
        wish, made = found
        if isinstance(made, str):
            self.failed.emit(made)
            return
        if self.watch is not None:
            self.watch.stop()
        self.wish, self.watch, self.ready = wish, made, None
        self._told_of.clear()
        self._records = False
        if wish.to is not None:
            self.record(wish.to)
        made.start()
        self._timer.start()
        self.began.emit()

    def _look(self) -> None:
        """Now and then: what was found beside is shown, though no row may come."""
        if self.ready is not None and self.watch.review.take():
            self.grew.emit()
        self.told.emit()

    def _take(self, token: int) -> None:
        self._told_of.clear()
        watch = self.watch
        if not self._latest.counts(token) or watch is None:
            return
        try:
            added = watch.take()
        except HeadraceError as error:
            self.failed.emit(str(error))
            return
        if watch.review is None:
            self.told.emit()
        elif self.ready is None:
            self.ready = prepared(watch.review)
            self.appeared.emit(self.ready)
        elif added:
            self.grew.emit()


def last_read(recording: Recording) -> int:
    """When the last reading was read, UTC nanoseconds: rows that say that all is missing don't count."""
    first = max(0, len(recording) - _BACK_ROWS)
    read = np.zeros(len(recording) - first, np.bool_)
    for channel in recording.channels:
        read |= np.isfinite(recording.column(channel)[first:])
    some = np.flatnonzero(read)
    return int(recording.time[first + int(some[-1])]) if len(some) else int(recording.time[-1])


def _opened(wish: Wish, notify: Callable[[], None]) -> Watch:
    # The drivers take their time to be imported, and most windows watch nothing.
    from desktop.live.opening import open_watch

    return open_watch(wish.source, site_path=wish.site, interval_s=wish.interval_s, notify=notify)


def now_ns() -> int:
    """UTC nanoseconds by the local clock."""
    return time.time_ns()
