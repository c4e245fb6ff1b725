"""What a table would be read as: tried in a worker thread while columns are being settled."""

from __future__ import annotations

import logging
import shutil
import tempfile
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from PySide6.QtCore import QObject, Signal

from desktop.opening import read_recordings
from desktop.review import review
from desktop.sheet.columns import ColumnQuestion, Use, answered
from desktop.sheet.editing import SheetDraft
from recordings.errors import HeadraceError, ReadError, UnclearDatesError
from recordings.recording import Recording

_MOST_BYTES = 4 << 20
_WAIT_S = 10.0


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of reading the table like this.

    draft       the sheet that would be written, None where it can't be
    error       why it can't be read, None where it can
    asks_dates  whether day or month comes first has to be said
    spans       channel → (lowest, highest reading, share that is missing); NaN where all are
    in_balance  share of the rows in which the powers add up; NaN where it can't be tested
    sampled     only the first rows were read, for speed
    """

    draft: SheetDraft | None = None
    error: HeadraceError | None = None
    asks_dates: bool = False
    recording: Recording | None = None
    spans: Mapping[str, tuple[float, float, float]] = field(default_factory=dict)
    in_balance: float = float("nan")
    sampled: bool = False


class Trials(QObject):
    """Tries one thing at a time; of several that are asked for meanwhile, the last.

    told  (number of the request, Tried)
    """

    told = Signal(int, object)

    def __init__(self, asked: ColumnQuestion, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._asked = asked
        self._folder: Path | None = None
        self._number = 0
        self._next: tuple[int, dict[int, Use], bool | None] | None = None
        self._lock = threading.Lock()
        self._thread: threading.Thread | None = None

    def ask(self, uses: Mapping[int, Use], day_first: bool | None) -> int:
        """Read the table like this. The number of the request."""
        with self._lock:
            self._number += 1
            self._next = (self._number, dict(uses), day_first)
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, name="columns", daemon=True)
                self._thread.start()
            return self._number

    @property
    def busy(self) -> bool:
        """Whether something is being tried."""
        return self._thread is not None

    def close(self) -> None:
        """Wait until the thread has ended, and clear up behind it."""
        with self._lock:
            self._next = None
            thread = self._thread
        if thread is not None:
            thread.join(_WAIT_S)
        if self._folder is not None:
            shutil.rmtree(self._folder, ignore_errors=True)
            self._folder = None

    def _work(self) -> None:
        while True:
            with self._lock:
                wanted, self._next = self._next, None
                if wanted is None:
                    self._thread = None
                    return
            number, uses, day_first = wanted
            self.told.emit(number, self._tried(uses, day_first))

    def _tried(self, uses: Mapping[int, Use], day_first: bool | None) -> Tried:
        draft = None
        try:
            table, sampled = self._sample()
            draft = answered(self._asked, uses, day_first)
            site = draft.site()
            recording = self._read(table, draft, day_first, sampled)
            balance = review(recording, site).balance
        except HeadraceError as error:
            return Tried(draft, error, isinstance(error, UnclearDatesError))
        except Exception as error:
            # The thread has to go on whatever comes, else nothing would ever be told again.
            logging.getLogger(__name__).exception("trying %s", self._asked.path)
            return Tried(draft, ReadError(f"a fault inside the program ({type(error).__name__}: {error})"))
        spans = {name: _span(recording.column(name)) for name in recording.channels}
        share = balance.in_balance_share if balance.degrees_of_freedom else float("nan")
        return Tried(draft, None, False, recording, spans, share, sampled)

    def _read(self, table: Path, draft: SheetDraft, day_first: bool | None, sampled: bool) -> Recording:
        try:
            return read_recordings([table], draft.site(), day_first=day_first)
        except UnclearDatesError:
            # The whole table may settle what its first rows leave open.
            if not sampled or isinstance(self._asked.error, UnclearDatesError):
                raise
            return read_recordings([table], draft.site(), day_first=True)

    def _sample(self) -> tuple[Path, bool]:
        """(the table or a file with its first rows, whether it is only these)."""
        path = self._asked.path
        if self._folder is None:
            try:
                with path.open("rb") as file:
                    head = file.read(_MOST_BYTES + 1)
            except OSError:
                # What is wrong with it is told by whoever reads it.
                return path, False
            if len(head) <= _MOST_BYTES:
                return path, False
            stop = head.rfind(b"\n") + 1
            # In UTF-16 a line break has two bytes.
            stop += head[stop : stop + 1] == b"\0"
            self._folder = Path(tempfile.mkdtemp(prefix="headrace-"))
            (self._folder / path.name).write_bytes(head[:stop] if stop else head)
        return self._folder / path.name, True


def _span(values: np.ndarray) -> tuple[float, float, float]:
    known = values[np.isfinite(values)]
    if not known.size:
        return float("nan"), float("nan"), 1.0
    return float(known.min()), float(known.max()), 1.0 - known.size / values.size
