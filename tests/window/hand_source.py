"""A live source whose rows and state come from the hand of a test, and windows that watch it."""

from __future__ import annotations

import queue
import time
from collections.abc import Callable, Iterator

import numpy as np

from desktop.live.watch import Watch
from desktop.site import Site
from desktop.window.live.wish import Wish
from drivers.source import Frame, Phase, State
from recordings.recording import Recording


class HandSource:
    """Gives the rows that it is told to give."""

    def __init__(self, name: str = "by hand") -> None:
        self.name = name
        self.channels: tuple[str, ...] = ()
        self.state = State("connecting", 0)
        self._frames: queue.Queue[Frame | None] = queue.Queue()

    def give(self, recording: Recording, start: int, stop: int) -> None:
        """The rows [start, stop) of a recording, in one frame."""
        rows = recording.rows(start, stop)
        self.channels = rows.channels
        columns = {name: np.array(rows.column(name)) for name in rows.channels}
        self.say("reading")
        self._frames.put(Frame(np.array(rows.time), columns))

    def say(self, phase: Phase, reason: str = "", retry_in_s: float | None = None) -> None:
        """Be in this state."""
        retry_at = None if retry_in_s is None else time.time_ns() + round(retry_in_s * 1e9)
        self.state = State(phase, time.time_ns(), reason, retry_at)

    def frames(self) -> Iterator[Frame]:
        while (frame := self._frames.get()) is not None:
            yield frame
        self.say("ended", "stopped")

    def stop(self) -> None:
        self._frames.put(None)


def opening(source: HandSource, site: Site) -> Callable[[Wish, Callable[[], None]], Watch]:
    """What a window opens a wish with, to get this source."""
    return lambda wish, notify: Watch(source, site, notify=notify)
