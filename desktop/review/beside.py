"""Judgements that are worked out beside the thread that shows them."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

_T = TypeVar("_T")

REST = 30.0
"""How many times as long as a judgement took it is good for, before it is made anew."""

LEAST_REST_S = 1.0


@dataclass(slots=True)
class _Work:
    name: str
    thread: threading.Thread
    begun: float
    version: object
    outcome: Any = None
    fault: Exception | None = None


@dataclass(frozen=True, slots=True)
class _Known:
    outcome: Any
    good_until: float
    version: object


class Beside:
    """Does one piece of work at a time in a thread; meanwhile what was found before holds. For one caller."""

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._known: dict[str, _Known] = {}
        self._work: _Work | None = None
        self._closed = False

    @property
    def ripe(self) -> bool:
        """True where work has ended whose outcome nobody has asked for yet."""
        return self._work is not None and not self._work.thread.is_alive()

    def latest(
        self, name: str, judgement: Callable[[], Callable[[], _T]], meanwhile: _T, version: object = None
    ) -> _T:
        """The latest outcome under a name; it is renewed beside, where it has become old.

        judgement  prepares the work in the caller's thread, and gives what can be done in another
        meanwhile  what holds before anything was found
        version    of what is judged: what was found of the same never becomes old; None where that isn't known

        What went wrong in the other thread is raised here.
        """
        self._collect()
        known = self._known.get(name)
        same = known is not None and version is not None and known.version == version
        old = known is None or (not same and self._now() >= known.good_until)
        if old and self._work is None and not self._closed:
            self._begin(name, judgement(), version)
        outcome: _T = meanwhile if known is None else known.outcome
        return outcome

    def wait(self) -> None:
        """Until no work is under way."""
        if self._work is not None:
            self._work.thread.join()
            self._collect()

    def close(self) -> None:
        """Begin nothing any more, and wait for what is under way."""
        self._closed = True
        self.wait()

    def _begin(self, name: str, work: Callable[[], Any], version: object) -> None:
        def run() -> None:
            try:
                begun.outcome = work()
            except Exception as fault:
                begun.fault = fault

        thread = threading.Thread(target=run, name=name, daemon=True)
        begun = self._work = _Work(name, thread, self._now(), version)
        begun.thread.start()

    def _collect(self) -> None:
        work = self._work
        if work is None or work.thread.is_alive():
            return
        self._work = None
        now = self._now()
        if work.fault is not None:
            raise work.fault
        rest = max(LEAST_REST_S, REST * (now - work.begun))
        self._known[work.name] = _Known(work.outcome, now + rest, work.version)
