"""A source in a thread of its own, and its frames in a queue that can't grow without end."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable

from drivers.source import Frame, Source, State
from recordings.errors import HeadraceError, SourceError

_FULL_WAIT_S = 0.1


class Reader:
    """Runs a source in a worker thread.

    capacity  frames that may wait to be taken; while the queue is full the source isn't read on
    notify    called in the worker's thread after each frame and at the end; it must not block
    """

    def __init__(self, source: Source, capacity: int = 256, notify: Callable[[], None] | None = None) -> None:
        self.source = source
        self.error: HeadraceError | None = None
        self._capacity, self._notify = capacity, notify
        self._queue: deque[Frame] = deque()
        self._changed = threading.Condition()
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name=f"reader of {source.name}", daemon=True)

    @property
    def state(self) -> State:
        """What the source is doing."""
        return self.source.state

    @property
    def running(self) -> bool:
        """True until the source has ended and its thread with it."""
        return self._thread.is_alive()

    def start(self) -> Reader:
        """Begin to read."""
        self._thread.start()
        return self

    def stop(self, timeout_s: float = 1.0) -> bool:
        """Make the source end, and wait for its thread. True once it is gone."""
        self._stopping.set()
        self.source.stop()
        with self._changed:
            self._changed.notify_all()
        if self._thread.ident is not None:
            self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def take(self, timeout_s: float = 0.0) -> list[Frame]:
        """All frames that have come, in order; waits so long for the first. [] where none came.

        `error` says why none will come any more, where that is so.
        """
        with self._changed:
            if not self._queue and timeout_s > 0:
                self._changed.wait_for(lambda: self._queue or not self.running_or_new, timeout_s)
            frames = list(self._queue)
            self._queue.clear()
            self._changed.notify_all()
        return frames

    @property
    def running_or_new(self) -> bool:
        """True where frames may still come."""
        return self._thread.ident is None or (self._thread.is_alive() and not self._done)

    _done = False

    def _run(self) -> None:
        try:
            for frame in self.source.frames():
                if not self._put(frame):
                    break
        except HeadraceError as error:
            self.error = error
        except Exception as error:
            self.error = SourceError(f"stopped by a fault in the program: {error!r}", where=self.source.name)
        finally:
            with self._changed:
                self._done = True
                self._changed.notify_all()
            self._tell()

    def _put(self, frame: Frame) -> bool:
        """Queue a frame, waiting for room. False once it is told to stop."""
        with self._changed:
            while len(self._queue) >= self._capacity and not self._stopping.is_set():
                self._changed.wait(_FULL_WAIT_S)
            if self._stopping.is_set():
                return False
            self._queue.append(frame)
            self._changed.notify_all()
        self._tell()
        return True

    def _tell(self) -> None:
        if self._notify is not None:
            self._notify()
