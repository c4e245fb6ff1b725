"""Looking at addresses in a worker thread."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from desktop.window.parts.latest import Latest

if TYPE_CHECKING:
    from drivers.probe.found import Found

Look = Callable[[str, Callable[[str], None], threading.Event], "Found"]

_WAIT_S = 5.0


class Looker(QObject):
    """Looks at one address after another; a new look takes the place of one that is under way.

    progressed  what is being tried, a clause
    found       what was found at each address ([Found])
    """

    progressed = Signal(str)
    found = Signal(object)
    _told = Signal(int, str, object)

    def __init__(self, parent: QObject | None = None, look: Look | None = None) -> None:
        super().__init__(parent)
        self._look = look or _look_at
        self._latest = Latest("looking for devices", _WAIT_S)
        self._stop = threading.Event()
        self._told.connect(self._pass_on)

    def look(self, addresses: Sequence[str]) -> None:
        """Look at these."""
        self.stop()
        self._stop = threading.Event()
        self._latest.begin(self._work, tuple(addresses), self._stop)

    def stop(self) -> None:
        """Give up what is under way; nothing of it will be told."""
        self._latest.drop()
        self._stop.set()

    def close(self) -> None:
        """Give up, and wait until every thread has ended."""
        self.stop()
        self._latest.close()

    def _work(self, token: int, addresses: tuple[str, ...], stop: threading.Event) -> None:
        def progress(what: str) -> None:
            self._tell(token, "progressed", what)

        found = []
        for address in addresses:
            if stop.is_set():
                return
            found.append(self._look(address, progress, stop))
        self._tell(token, "found", found)

    def _tell(self, token: int, what: str, told: object) -> None:
        if self._latest.counts(token):
            self._told.emit(token, what, told)

    def _pass_on(self, token: int, what: str, told: object) -> None:
        if self._latest.counts(token):
            getattr(self, what).emit(told)


def _look_at(address: str, progress: Callable[[str], None], stop: threading.Event) -> Found:
    # What talks to devices takes its time to be imported; here nobody waits for it.
    from drivers.probe.looking import look_at

    return look_at(address, progress, stop, folder=Path())
