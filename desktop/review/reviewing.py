"""A review: everything that is computed of a recording and its site, in one object."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from desktop.charging.energy import Energy
from desktop.charging.sessions import Session
from desktop.diagnosis.finding import Finding
from desktop.flow.learned import Conversion, Learned, learn
from desktop.flow.streams import GAPS, INDEX
from desktop.review.as_json import as_json
from desktop.review.as_text import as_text
from desktop.review.balance import Balance
from desktop.review.builder import Builder
from desktop.review.instant import moment_at
from desktop.review.milestones import FirstReadings, milestone
from desktop.review.moment import Moment
from desktop.review.ratings import ratings
from desktop.site import Site
from recordings.recording import Recording

_T = TypeVar("_T")


def review(recording: Recording, site: Site, progress: Callable[[float], None] | None = None) -> Review:
    """Review a recording.

    progress  is told the share that is done, 0..1
    """
    return Review(recording, site, progress)


class Review:
    """What a recording shows. It is a pure function of the rows and the site.

    So it doesn't matter whether rows came all at once or one by one: what needs a look at the whole recording
    is learned from its first `milestone(rows)` rows, or from those up to the row in which the last channel
    gave its first reading. When such a row brings something new, all rows are worked through again.
    """

    def __init__(
        self, recording: Recording, site: Site, progress: Callable[[float], None] | None = None
    ) -> None:
        self.recording = recording
        self.site = site
        self._learned_from = -1
        self._first_readings = FirstReadings()
        self._builder: Builder
        self._known: dict[str, Any] = {}
        self._catch_up(progress)

    def extend(self, time: Any, columns: Mapping[str, Any]) -> None:
        """Add rows to the recording and to the review. RecordingError where they can't be added."""
        self.recording.append(time, columns)
        self._catch_up(None)

    def _catch_up(self, progress: Callable[[float], None] | None) -> None:
        rows = len(self.recording)
        reached = max(milestone(rows), self._first_readings.latest(self.recording) + 1)
        if reached != self._learned_from:
            self._learn(reached)
        self._builder.work(self.recording, rows, progress)
        self._known.clear()

    def _learn(self, reached: int) -> None:
        """Learn from the first `reached` rows; where that brings something new, begin the work anew."""
        learned = learn(self.recording.rows(0, reached), self.site)
        channels = self._first_readings.channels
        if self._learned_from < 0 or not self._builder.knows(learned, channels):
            self._builder = Builder(learned, channels, self.site, self.recording)
        self._learned_from = reached

    def __len__(self) -> int:
        return self._builder.rows

    @property
    def learned(self) -> Learned:
        """What was learned of the plant from the recording."""
        return self._builder.learned

    @property
    def interval_s(self) -> float:
        """The median step between rows, s; NaN where there is none."""
        return self.learned.interval_s

    @property
    def gap_s(self) -> float:
        """The longest step that is bridged, s."""
        return self.learned.gap_s

    @property
    def conversion(self) -> Conversion:
        """How the converter's loss is reckoned."""
        return self.learned.conversion

    def stream(self, name: str) -> NDArray[np.float32]:
        """(n,) reconciled power of a stream, W, read-only; NaN where not known, 0 where there is none."""
        INDEX[name]
        return self._builder.trends.column(name, otherwise=0.0)

    def unaccounted(self, place: str) -> NDArray[np.float32]:
        """(n,) unaccounted power at a place of GAPS, W, read-only; NaN where not known."""
        GAPS.index(place)
        return self._builder.trends.column(f"unaccounted_{place}")

    @property
    def chi2(self) -> NDArray[np.float32]:
        """(n,) the global test."""
        return self._builder.trends.column("chi2")

    @property
    def gaps(self) -> tuple[tuple[int, int], ...]:
        """Steps that are too long to be bridged: (last row before, first row after), UTC nanoseconds."""
        return tuple(self._builder.gaps)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings in order of time; at the same time the most urgent first."""
        return self._once("findings", self._builder.diagnosis.findings)

    @property
    def sessions(self) -> tuple[Session, ...]:
        """All charge sessions in order of time."""
        return self._once("sessions", self._builder.sessions.sessions)

    @property
    def energy(self) -> Energy:
        """The energy books of the whole recording."""
        return self._once("energy", self._builder.energy.energy)

    @property
    def balance(self) -> Balance:
        """How well the powers add up over the whole recording."""
        return self._once("balance", lambda: self._builder.balance.balance(self._builder.unaccounted()))

    @property
    def suspects(self) -> tuple[()]:
        """Meters that are suspected to lie. None are looked for."""
        return ()

    @property
    def ratings(self) -> dict[str, tuple[float, bool]]:
        """Stream → what it can carry, W, and whether that is assumed."""
        largest = {name: float(self._builder.largest[row]) for name, row in INDEX.items()}
        return self._once("ratings", lambda: ratings(self.site, largest))

    def moment(self, instant: int) -> Moment:
        """Everything that is shown of an instant (UTC nanoseconds)."""
        return moment_at(self, self._builder, instant)

    def as_json(self) -> dict[str, Any]:
        """The review as strict JSON values; the keys are public."""
        return as_json(self)

    def as_text(self) -> str:
        """The review for people, in the site's time zone."""
        return as_text(self)

    def _judged(self, name: str, judgement: Callable[[], Callable[[], _T]], meanwhile: _T) -> _T:
        """What a judgement says of the rows so far; it may take seconds.

        judgement  looks at the books as they stand, and gives the work that can be done beside them
        meanwhile  what is said where nothing is known yet
        """

        def work() -> _T:
            return judgement()()

        return self._once(name, work)

    def _once(self, name: str, work: Callable[[], _T]) -> _T:
        if name not in self._known:
            self._known[name] = work()
        found: _T = self._known[name]
        return found
