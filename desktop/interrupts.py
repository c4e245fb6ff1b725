"""Ending long work when the person, or the system, asks for it: no row half-written, no traceback."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

_ASKED_BY = ("SIGINT", "SIGTERM", "SIGHUP")


@contextmanager
def asked_to_stop() -> Iterator[threading.Event]:
    """An event that is set by an interrupt (Ctrl-C) or a request to end, instead of what these usually do."""
    asked = threading.Event()

    def ask(_number: int, _frame: FrameType | None) -> None:
        asked.set()

    numbers = [getattr(signal, name) for name in _ASKED_BY if hasattr(signal, name)]
    # What was started to outlive its terminal ignores the hang-up, and goes on doing so.
    hang_up = getattr(signal, "SIGHUP", None)
    heard = [each for each in numbers if each != hang_up or signal.getsignal(each) != signal.SIG_IGN]
    before = {number: signal.signal(number, ask) for number in heard}
    try:
        yield asked
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
