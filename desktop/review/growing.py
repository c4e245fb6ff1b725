"""A review of rows that still come, whose long work is done beside the thread that shows it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from desktop.flow.learned import learn
from desktop.review.beside import Beside
from desktop.review.builder import Builder
from desktop.review.reviewing import Review
from desktop.site import Site
from recordings.recording import Recording

_T = TypeVar("_T")

SHORT_ROWS = 4096
"""A recording of no more rows than this is worked through anew at once: it takes some milliseconds."""

AT_ONCE_ROWS = 2048
"""Rows that are worked through at a time beside the window: quick to end, and little memory."""


class _StoppedError(Exception):
    """The review was closed while work was done beside."""


@dataclass(slots=True)
class _Anew:
    """What comes of learning anew: from how many rows, and a builder where that brought something new."""

    reached: int
    builder: Builder | None


class GrowingReview(Review):
    """A `Review` to be extended and looked at in one thread that must not wait.

    Where a milestone is reached, a worker thread learns from the rows and, where that brings something new,
    works through them anew; until it is done the review goes on with what it knew. Judgements are made beside
    as well, now and then. `settle` waits for all that: then everything is as in a review of the same rows made
    at once.

    revision  rises when the past was worked through anew
    """

    def __init__(self, recording: Recording, site: Site) -> None:
        self.revision = 0
        self._worker: threading.Thread | None = None
        self._anew: _Anew | None = None
        self._fault: Exception | None = None
        self._closing = threading.Event()
        self._beside = Beside()
        self._settled = -1
        super().__init__(recording, site)

    def settle(self) -> None:
        """Wait for the work that is done beside, until nothing is left to learn."""
        while self._worker is not None:
            self._worker.join()
            self._catch_up(None)
        self._beside.wait()
        self._settled = len(self.recording)
        self._known.clear()

    def take(self) -> bool:
        """Take what was done beside, though no row has come; True where there may be something else to show."""
        learned = self._worker is not None and not self._worker.is_alive()
        if not learned and not self._beside.ripe:
            return False
        self._catch_up(None)
        return True

    def close(self) -> None:
        """End the work that is done beside. The review can be looked at, but learns no more."""
        self._closing.set()
        if self._worker is not None:
            self._worker.join()
        self._beside.close()
        self._known.clear()

    def _judged(self, name: str, judgement: Callable[[], Callable[[], _T]], meanwhile: _T) -> _T:
        if self._settled == len(self.recording):
            return super()._judged(name, judgement, meanwhile)
        # What led to findings hangs on the findings as well, and those on judgements.
        version = len(self.recording), self.revision, self._found() if name == "chains" else ()
        return self._beside.latest(name, judgement, meanwhile, version)

    def _catch_up(self, progress: Callable[[float], None] | None) -> None:
        if self._worker is not None and not self._worker.is_alive():
            self._take_over()
        super()._catch_up(progress)

    def _learn(self, reached: int) -> None:
        if self._learned_from < 0 or len(self.recording) <= SHORT_ROWS:
            before = getattr(self, "_builder", None)
            super()._learn(reached)
            self.revision += before is not self._builder
        elif self._worker is None and not self._closing.is_set():
            self._begin(reached)

    def _begin(self, reached: int) -> None:
        rows = self.recording.rows(0, len(self.recording))
        channels, known = self._first_readings.channels, self._builder

        def work() -> None:
            try:
                learned = learn(rows.rows(0, reached), self.site)
                builder = None
                if not known.knows(learned, channels):
                    builder = Builder(learned, channels, self.site, self.recording)
                    builder.work(rows, len(rows), self._go_on, AT_ONCE_ROWS)
                self._anew = _Anew(reached, builder)
            except _StoppedError:
                pass
            except Exception as fault:
                self._fault = fault

        self._worker = threading.Thread(target=work, name="learning anew", daemon=True)
        self._worker.start()

    def _go_on(self, _: float) -> None:
        if self._closing.is_set():
            raise _StoppedError

    def _take_over(self) -> None:
        self._worker = None
        fault, self._fault = self._fault, None
        if fault is not None:
            raise fault
        anew, self._anew = self._anew, None
        if anew is None:
            return
        self._learned_from = anew.reached
        if anew.builder is not None:
            self._builder = anew.builder
            self.revision += 1
