"""What a command shows on a terminal while it works."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

_QUIET_S = 1.0
_WIDTH = 32


class Progress:
    """A bar on standard error, for people only: shown after a second of work, and only on a terminal.

    Use as a context manager; the instance is called with the share done, 0..1.
    """

    def __init__(
        self,
        label: str,
        now: Callable[[], float] = time.monotonic,
        shown: bool | None = None,
    ) -> None:
        self._label = label
        self._now = now
        self._shown = sys.stderr.isatty() if shown is None else shown
        self._started = now()
        self._drawn = -1

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, *_: object) -> None:
        if self._drawn >= 0:
            sys.stderr.write("\r" + " " * (len(self._label) + _WIDTH + 10) + "\r")
            sys.stderr.flush()

    def __call__(self, share: float) -> None:
        percent = int(100 * min(max(share, 0.0), 1.0))
        if not self._shown or percent == self._drawn or self._now() - self._started < _QUIET_S:
            return
        self._drawn = percent
        done = round(_WIDTH * percent / 100)
        bar = "█" * done + "░" * (_WIDTH - done)
        sys.stderr.write(f"\r{self._label} {bar} {percent:3d} %")
        sys.stderr.flush()
