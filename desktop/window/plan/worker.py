"""Works an outlook out in a thread, with progress; a new one takes the place of one that is under way."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from desktop.words import Phrase
from recordings.errors import HeadraceError

if TYPE_CHECKING:
    from desktop.charging.outlook.planning import Plan

_WAIT_S = 10.0

Work = Callable[[Callable[[float], None]], "Plan"]


class _StoppedError(Exception):
    """The user wants it no more."""


class PlanWorker(QObject):
    """Works on one plan at a time. Every signal comes in the thread that it lives in.

    progressed  the share that is done, 0..1
    done        (Plan)
    failed      (one line)
    """

    progressed = Signal(float)
    done = Signal(object)
    failed = Signal(str)
    _told = Signal(int, str, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._token = 0
        self._threads: list[threading.Thread] = []
        self._told.connect(self._pass_on)

    def begin(self, work: Work) -> None:
        """Do this in a thread; it is given what to tell its progress to."""
        self.stop()
        thread = threading.Thread(target=self._work, args=(self._token, work), name="planning", daemon=True)
        self._threads = [each for each in self._threads if each.is_alive()] + [thread]
        thread.start()

    def stop(self) -> None:
        """Give up what is under way; nothing of it will be told."""
        self._token += 1

    @property
    def busy(self) -> bool:
        """True while a thread works, or has still to notice that it was given up."""
        return any(thread.is_alive() for thread in self._threads)

    def close(self) -> None:
        """Give up, and wait until every thread has ended."""
        self.stop()
        for thread in self._threads:
            thread.join(_WAIT_S)

    def _work(self, token: int, work: Work) -> None:
        def progress(share: float) -> None:
            if token != self._token:
                raise _StoppedError
            self._told.emit(token, "progressed", share)

        try:
            self._told.emit(token, "done", work(progress))
        except _StoppedError:
            return
        except HeadraceError as error:
            self._told.emit(token, "failed", str(error))
        except Exception as error:
            logging.getLogger(__name__).exception("planning")
            line = Phrase(
                "No plan can be made: a fault inside the program ({fault}).",
                fault=f"{type(error).__name__}: {error}",
            )
            self._told.emit(token, "failed", str(line))

    def _pass_on(self, token: int, what: str, content: object) -> None:
        if token == self._token:
            getattr(self, what).emit(content)
