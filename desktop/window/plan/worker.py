"""Works an outlook out in a thread, with progress; a new one takes the place of one that is under way."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from desktop.window.parts.latest import Latest
from desktop.words import Phrase
from recordings.errors import HeadraceError

if TYPE_CHECKING:
    from desktop.charging.outlook.planning import Plan

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
        self._latest = Latest("planning")
        self._told.connect(self._pass_on)

    def begin(self, work: Work) -> None:
        """Do this in a thread; it is given what to tell its progress to."""
        self._latest.begin(self._work, work)

    def stop(self) -> None:
        """Give up what is under way; nothing of it will be told."""
        self._latest.drop()

    @property
    def busy(self) -> bool:
        """True while a thread works, or has still to notice that it was given up."""
        return self._latest.busy

    def close(self) -> None:
        """Give up, and wait until every thread has ended."""
        self._latest.close()

    def _work(self, token: int, work: Work) -> None:
        def progress(share: float) -> None:
            if not self._latest.counts(token):
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
        if self._latest.counts(token):
            getattr(self, what).emit(content)
