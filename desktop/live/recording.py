"""Recording what is watched: told from one thread, done in another."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from desktop.live.frames import joined
from drivers.source import Frame
from recordings.errors import HeadraceError
from recordings.recorder import Recorder
from recordings.recording import Recording

_AT_ONCE = 20_000


@dataclass(frozen=True, slots=True)
class Recorded:
    """How a recording is getting on.

    paths    the files written so far, in order
    rows     on the disk
    waiting  not there yet
    since    when it was begun, UTC nanoseconds of the local clock
    trouble  what is wrong at present, one line; "" while all is well
    active   more rows will be written
    note     what else is worth knowing, one line
    """

    paths: tuple[Path, ...]
    rows: int
    waiting: int
    since: int
    trouble: str
    active: bool = True
    note: str = ""


@dataclass(frozen=True, slots=True)
class Backlog:
    """What had been watched when recording was asked for: rows of a recording, and frames after them."""

    rows: Recording
    frames: tuple[Frame, ...]


class Taping:
    """One recording. All of it runs in the thread that the frames come in; `told` may be read in any.

    target    a file or a folder, as `Recorder` takes them
    channels  gives those that the source declares
    beside    called with each new file; what it says is told
    """

    def __init__(
        self,
        target: Path,
        timezone: str,
        backlog: Backlog,
        channels: Callable[[], tuple[str, ...]],
        beside: Callable[[Path], object],
    ) -> None:
        self._target, self._timezone, self._backlog = target, timezone, backlog
        self._channels, self._beside = channels, beside
        self._recorder: Recorder | None = None
        self._since = time.time_ns()
        self._last: int | None = None
        self._known: tuple[Path, ...] = ()
        self._wrong = ""
        self._note = ""
        self.told = Recorded((), 0, 0, self._since, "")

    def begin(self) -> None:
        """Write what had been watched before."""
        try:
            self._recorder = Recorder(self._target, timezone=self._timezone)
        except HeadraceError as error:
            self._wrong = str(error)
            self._tell()
            return
        self._recorder.declare(self._channels())
        for rows in _pieces(self._backlog.rows):
            self._recorder.append(rows.time, {name: rows.column(name) for name in rows.channels})
            self._last = int(rows.time[-1])
            self._tell()
        self.append(list(self._backlog.frames))

    def append(self, frames: list[Frame]) -> None:
        """Write frames."""
        if self._recorder is None:
            return
        if frames:
            time_, columns = joined(frames, self._last)
            if len(time_):
                self._recorder.declare(self._channels())
                self._recorder.append(time_, columns)
                self._last = int(time_[-1])
        self._recorder.tick()
        self._tell()

    def end(self) -> None:
        """Write the rest, and close the file whole."""
        if self._recorder is not None:
            try:
                self._recorder.close()
            except HeadraceError as error:
                self._wrong = str(error)
        self._tell(active=False)

    def _tell(self, active: bool = True) -> None:
        recorder = self._recorder
        if recorder is None:
            self.told = Recorded((), 0, 0, self._since, self._wrong, False)
            return
        paths = tuple(recorder.paths)
        for path in paths:
            if path not in self._known:
                self._put_beside(path)
        self._known = paths
        trouble = self._wrong or recorder.trouble
        self.told = Recorded(paths, recorder.rows, recorder.waiting, self._since, trouble, active, self._note)

    def _put_beside(self, path: Path) -> None:
        try:
            self._note = str(self._beside(path) or "")
        except HeadraceError as error:
            self._wrong = str(error)


def _pieces(rows: Recording) -> Iterator[Recording]:
    for start in range(0, len(rows), _AT_ONCE):
        yield rows.rows(start, start + _AT_ONCE)
