"""Work in threads, of which only what was asked for last counts. Qt-free."""

from __future__ import annotations

import threading
from collections.abc import Callable


class Latest:
    """Begins work in threads, and knows which of it still counts.

    name    of the threads
    wait_s  how long `close` waits for each
    """

    def __init__(self, name: str, wait_s: float = 10.0) -> None:
        self._name, self._wait_s = name, wait_s
        self._token = 0
        self._threads: list[threading.Thread] = []

    def begin(self, work: Callable[..., None], *told: object) -> None:
        """Do `work(token, *told)` in a thread; what is under way counts no more."""
        self.drop()
        thread = threading.Thread(target=work, args=(self._token, *told), name=self._name, daemon=True)
        self._threads = [each for each in self._threads if each.is_alive()] + [thread]
        thread.start()

    def counts(self, token: int) -> bool:
        """True for the work that was begun last and not dropped; to be asked in any thread."""
        return token == self._token

    def drop(self) -> None:
        """What is under way counts no more."""
        self._token += 1

    @property
    def busy(self) -> bool:
        """True while a thread works, or has still to notice that it counts no more."""
        return any(thread.is_alive() for thread in self._threads)

    def close(self) -> None:
        """Drop what is under way, and wait until every thread has ended."""
        self.drop()
        for thread in self._threads:
            thread.join(self._wait_s)
