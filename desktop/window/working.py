"""Work in a thread, with progress, told in the window's own; what went wrong is one line."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from desktop.window.parts.latest import Latest
from desktop.words import Phrase, tr
from recordings.errors import HeadraceError

Progress = Callable[[str, float], None]
"""Is told what is being done, and the share that is done, 0..1."""

Work = Callable[[Progress], object]

_PAINTED_S = 0.03
"""The window paints first that something is under way; the thread would only keep it from doing so."""


class _StoppedError(Exception):
    """It was given up, or something else has taken its place."""


class Worker(QObject):
    """Does one thing at a time; a new one takes the place of one that is under way.

    Every signal comes in the thread that the worker lives in, and only for what was begun last.

    progressed  (what is being done, share 0..1)
    done        (what the work gave)
    failed      (one line)

    name  of its threads
    """

    progressed = Signal(str, float)
    done = Signal(object)
    failed = Signal(str)
    _told = Signal(int, str, object)

    def __init__(self, name: str, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._name = name
        self._latest = Latest(name)
        self._told.connect(self._pass_on)

    def begin(self, work: Work, fault: str, **values: object) -> None:
        """Do this in a thread.

        fault, values  the template of the line for a fault inside the program, which it calls {fault}; its other
                       values
        """
        self._latest.begin(self._work, work, fault, values)

    def stop(self) -> None:
        """Give up what is under way; nothing of it will be told."""
        self._latest.drop()

    @property
    def busy(self) -> bool:
        """True while a thread works on what was begun last, or on something given up."""
        return self._latest.busy

    def close(self) -> None:
        """Give up, and wait until every thread has ended."""
        self._latest.close()

    def _work(self, token: int, work: Work, fault: str, values: dict[str, object]) -> None:
        def progress(stage: str, share: float) -> None:
            if not self._latest.counts(token):
                raise _StoppedError
            self._told.emit(token, "progressed", (stage, share))

        time.sleep(_PAINTED_S)
        try:
            self._told.emit(token, "done", work(progress))
        except _StoppedError:
            return
        except HeadraceError as error:
            self._told.emit(token, "failed", str(error))
        except MemoryError:
            self._told.emit(token, "failed", tr("Not enough memory for this recording. Open a shorter one."))
        except Exception as error:
            logging.getLogger(__name__).exception("%s: %s", self._name, values)
            line = Phrase(fault, fault=f"{type(error).__name__}: {error}", **values)
            self._told.emit(token, "failed", str(line))

    def _pass_on(self, token: int, what: str, content: object) -> None:
        if not self._latest.counts(token):
            return
        if what == "progressed":
            self.progressed.emit(*content)
        elif what == "failed":
            self.failed.emit(content)
        else:
            self.done.emit(content)
