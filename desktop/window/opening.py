"""Reading and reviewing recordings in a worker thread, with progress, cancel, and errors as one line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from desktop.window.working import Progress, Worker
from desktop.words import template, tr
from recordings.errors import UnclearError

if TYPE_CHECKING:
    from desktop.diagnosis.suspects import Suspect
    from desktop.picture.trends.of_review import ReviewTrends
    from desktop.picture.trends.store import LevelStore
    from desktop.review import Review
    from desktop.sheet.columns import ColumnQuestion
    from desktop.site import Site

Work = Callable[[Progress], tuple[str, object]]

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
    """A review that can be shown, with its trends prepared.

    tried     what was put right in the recording, in order; () where it is shown as recorded
    recorded  the same as recorded, where something was put right
    """

    review: Review
    trends: ReviewTrends
    store: LevelStore
    wanted: Wanted | None = None
    tried: tuple[Suspect, ...] = ()
    recorded: Ready | None = None


class Opener(QObject):
    """Opens one thing at a time; a new one takes the place of one that is under way.

    Every signal comes in the thread that the opener lives in, and only for what was asked for last.

    started     (name)
    progressed  (what is being done, share 0..1)
    ready       (Ready)
    unclear     the columns of a table have to be, or are to be, settled (Wanted, ColumnQuestion)
    failed      (one line)
    """

    started = Signal(str)
    progressed = Signal(str, float)
    ready = Signal(object)
    unclear = Signal(object, object)
    failed = Signal(str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._worker = Worker("opening", self)
        self._worker.progressed.connect(self.progressed)
        self._worker.done.connect(self._pass_on)
        self._worker.failed.connect(self.failed)

    def open(self, wanted: Wanted) -> None:
        """Read and review in a thread."""
        self._begin(wanted, lambda progress: ("ready", load(wanted, progress)))

    def review_again(self, ready: Ready, site: Site) -> None:
        """Review what is open with another sheet, in a thread."""
        wanted = ready.wanted
        if wanted is not None:
            self._begin(wanted, lambda progress: ("ready", again(ready, wanted, site, progress)))

    def review_corrected(self, ready: Ready, suspect: Suspect) -> None:
        """Review what is open with a suspect put right, in a thread."""
        wanted = ready.wanted
        if wanted is not None:
            self._begin(wanted, lambda progress: ("ready", put_right(ready, suspect, progress)))

    def look_at_columns(self, wanted: Wanted) -> None:
        """Look in a thread at how the columns of what is open were read, for a person to settle it anew."""
        self._begin(wanted, lambda progress: ("unclear", (wanted, _question(wanted))))

    def _begin(self, wanted: Wanted, work: Work) -> None:
        self.started.emit(wanted.name)
        fault = template("{name} can't be shown: a fault inside the program ({fault}).")
        self._worker.begin(lambda progress: _asking(wanted, lambda: work(progress)), fault, name=wanted.name)

    def stop(self) -> None:
        """Give up what is under way; nothing of it will be told."""
        self._worker.stop()

    @property
    def busy(self) -> bool:
        """True while a thread works on what was asked for last, or on something given up."""
        return self._worker.busy

    def close(self) -> None:
        """Give up, and wait until every thread has ended."""
        self._worker.close()

    def _pass_on(self, told: tuple[str, object]) -> None:
        what, content = told
        if what == "unclear":
            self.unclear.emit(*content)
        else:
            self.ready.emit(content)


def _asking(wanted: Wanted, work: Callable[[], tuple[str, object]]) -> tuple[str, object]:
    """What the work gives; the question that a person has to answer first, where there is one."""
    try:
        return work()
    except UnclearError as error:
        return "unclear", (wanted, _question(wanted, error))


def _question(wanted: Wanted, error: UnclearError | None = None) -> ColumnQuestion:
    from desktop.sheet.columns import question

    return question(wanted.paths, wanted.site, error, wanted.day_first)


def load(wanted: Wanted, progress: Progress) -> Ready:
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


def again(ready: Ready, wanted: Wanted, site: Site, progress: Progress) -> Ready:
    """The same recording reviewed with another sheet; it is read again only where that makes a difference.

    What was put right in it is no longer: another sheet may have mended it.
    """
    from desktop.opening import read_recordings
    from desktop.review import review

    reading, reviewing = tr("Reading"), tr("Reviewing")
    before = (ready.recorded or ready).review
    recording, share = before.recording, 0.0
    if _reading(site) != _reading(before.site):
        progress(reading, 0.0)
        recording = read_recordings(
            wanted.paths,
            site,
            day_first=wanted.day_first,
            progress=lambda done: progress(reading, _READING * done),
        )
        share = _READING
    rest = 0.95 - share
    found = review(recording, site, progress=lambda done: progress(reviewing, share + rest * done))
    return prepared(found, wanted, lambda done: progress(reviewing, 0.95 + 0.05 * done))


def put_right(ready: Ready, suspect: Suspect, progress: Progress) -> Ready:
    """The same recording with a suspect put right, besides what was put right before."""
    from desktop.diagnosis.suspects import corrected
    from desktop.review import review

    reviewing = tr("Reviewing")
    before = ready.review
    progress(reviewing, 0.0)
    recording = corrected(before.recording, suspect)
    found = review(recording, before.site, progress=lambda done: progress(reviewing, 0.95 * done))
    made = prepared(found, ready.wanted, lambda done: progress(reviewing, 0.95 + 0.05 * done))
    return replace(made, tried=(*ready.tried, suspect), recorded=ready.recorded or ready)


def _reading(site: Site) -> object:
    """All that a sheet says about how recordings are read."""
    said = site.site
    return said.timezone, site.given("site", "timezone"), said.stamp, said.dates, site.columns


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
    """Of files that were dropped or chosen together: the recordings, and the site sheet among them.

    Notes stand for the recording that they lie beside.
    """
    from desktop.pack.beside import is_notes_file, recording_of

    chosen = [Path(name) for name in names if name]
    paths = list(dict.fromkeys(recording_of(path) if is_notes_file(path) else path for path in chosen))
    sheets = [path for path in paths if path.suffix.lower() == ".toml"]
    return [path for path in paths if path not in sheets], sheets[0] if sheets else None
