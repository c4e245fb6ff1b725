"""Reading and reviewing recordings in a worker thread, with progress, cancel, and errors as one line."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from desktop.words import Phrase, tr
from recordings.errors import HeadraceError

if TYPE_CHECKING:
    from desktop.picture.trends.of_review import ReviewTrends
    from desktop.picture.trends.store import LevelStore
    from desktop.review import Review

_WAIT_S = 10.0
_READING, _REVIEWING = 0.5, 0.45


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be opened. `site` names a sheet; None for the one beside the recording."""

    paths: tuple[Path, ...]
    site: Path | None = None
    day_first: bool | None = None

    @property
    def name(self) -> str:
        """What to call it."""
        return self.paths[0].name if len(self.paths) == 1 else f"{self.paths[0].name} + {len(self.paths) - 1}"


@dataclass(frozen=True, slots=True)
class Ready:
    """A review that can be shown, with its trends prepared."""

    review: Review
    trends: ReviewTrends
    store: LevelStore
    wanted: Wanted | None = None


class _StoppedError(Exception):
    """The user stopped the opening, or another one has taken its place."""


class Opener(QObject):
    """Opens one thing at a time; a new one takes the place of one that is under way.

    Every signal comes in the thread that the opener lives in, and only for what was asked for last.

    started     (name)
    progressed  (what is being done, share 0..1)
    ready       (Ready)
    failed      (one line)
    """

    started = Signal(str)
    progressed = Signal(str, float)
    ready = Signal(object)
    failed = Signal(str)
    _told = Signal(int, str, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._token = 0
        self._threads: list[threading.Thread] = []
        self._told.connect(self._pass_on)

    def open(self, wanted: Wanted) -> None:
        """Read and review in a thread."""
        self.stop()
        token = self._token
        thread = threading.Thread(target=self._work, args=(token, wanted), name="opening", daemon=True)
        self._threads = [each for each in self._threads if each.is_alive()] + [thread]
        self.started.emit(wanted.name)
        thread.start()

    def stop(self) -> None:
        """Give up what is under way; nothing of it will be told."""
        self._token += 1

    @property
    def busy(self) -> bool:
        """True while a thread works on what was asked for last, or on something given up."""
        return any(thread.is_alive() for thread in self._threads)

    def close(self) -> None:
        """Give up, and wait until every thread has ended."""
        self.stop()
        for thread in self._threads:
            thread.join(_WAIT_S)

    def _work(self, token: int, wanted: Wanted) -> None:
        def progress(stage: str, share: float) -> None:
            if token != self._token:
                raise _StoppedError
            self._told.emit(token, "progressed", (stage, share))

        try:
            self._told.emit(token, "ready", load(wanted, progress))
        except _StoppedError:
            return
        except HeadraceError as error:
            self._told.emit(token, "failed", str(error))
        except MemoryError:
            self._told.emit(token, "failed", tr("Not enough memory for this recording. Open a shorter one."))
        except Exception as error:
            logging.getLogger(__name__).exception("opening %s", wanted.name)
            line = Phrase(
                "{name} can't be shown: a fault inside the program ({fault}).",
                name=wanted.name,
                fault=f"{type(error).__name__}: {error}",
            )
            self._told.emit(token, "failed", str(line))

    def _pass_on(self, token: int, what: str, content: object) -> None:
        if token != self._token:
            return
        if what == "progressed":
            self.progressed.emit(*content)
        elif what == "failed":
            self.failed.emit(content)
        else:
            self.ready.emit(content)


def load(wanted: Wanted, progress: Callable[[str, float], None]) -> Ready:
    """Read, review and prepare the trends. HeadraceError where that can't be."""
    from desktop.opening import open_recording
    from desktop.review import review

    reading, reviewing = tr("Reading"), tr("Reviewing")
    progress(reading, 0.0)
    recording, site = open_recording(
        list(wanted.paths),
        wanted.site,
        day_first=wanted.day_first,
        progress=lambda share: progress(reading, _READING * share),
    )
    found = review(recording, site, progress=lambda share: progress(reviewing, _READING + _REVIEWING * share))
    return prepared(found, wanted, lambda share: progress(reviewing, _READING + _REVIEWING + 0.05 * share))


def prepared(
    review: Review, wanted: Wanted | None = None, progress: Callable[[float], None] | None = None
) -> Ready:
    """A review with its trends, their levels made."""
    from desktop.picture.trends.of_review import trends_of
    from desktop.picture.trends.store import LevelStore

    trends = trends_of(review)
    store = LevelStore(trends)
    store.prepare([each for each in trends.series if each.shown], progress)
    return Ready(review, trends, store, wanted)


def dropped_paths(names: Sequence[str]) -> tuple[list[Path], Path | None]:
    """Of files that were dropped or chosen together: the recordings, and the site sheet among them."""
    paths = [Path(name) for name in names if name]
    sheets = [path for path in paths if path.suffix.lower() == ".toml"]
    return [path for path in paths if path not in sheets], sheets[0] if sheets else None
