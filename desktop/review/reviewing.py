"""A review: everything that is computed of a recording and its site, in one object."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from desktop.charging.advice.advice import LimitAdvice
from desktop.charging.battery.facts import BatteryFacts
from desktop.charging.energy import Energy
from desktop.charging.forecast.forecast import Forecast, forecast
from desktop.charging.fuel.state import Fuel
from desktop.charging.sessions import Session
from desktop.diagnosis.causes.chain import Chain
from desktop.diagnosis.causes.judging import with_causes
from desktop.diagnosis.finding import Finding
from desktop.diagnosis.settings_check.check import Check
from desktop.diagnosis.settings_check.checking import settings_check
from desktop.diagnosis.suspects import Evidence, Suspect, evidence
from desktop.flow.learned import Conversion, Learned, learn
from desktop.flow.minutes import Minutes
from desktop.flow.streams import GAPS, INDEX
from desktop.review.advised import limit_set, with_limit
from desktop.review.as_json import as_json
from desktop.review.as_text import as_text
from desktop.review.balance import Balance
from desktop.review.builder import Builder
from desktop.review.corrected import Figures, figures_of
from desktop.review.instant import moment_at
from desktop.review.judgements import (
    NO_ADVICE,
    NOTHING_OF_BATTERY,
    advice_judgement,
    battery_judgement,
    chains_judgement,
    found_by,
    fuel_judgement,
    quarters_judgement,
    suspects_judgement,
)
from desktop.review.milestones import FirstReadings, milestone
from desktop.review.moment import Moment
from desktop.review.ratings import ratings
from desktop.site import Site
from recordings.recording import Recording

_T = TypeVar("_T")

MINUTE_NS = 60_000_000_000


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
        return self._once("findings", self._told_findings)

    @property
    def chains(self) -> tuple[Chain, ...]:
        """What led to findings: to each that calls for action now, and to a low battery; in their order."""
        return self._judged("chains", lambda: chains_judgement(self._found(), self._builder), ())

    @property
    def checks(self) -> tuple[Check, ...]:
        """The plant's settings, each held against what it should be."""
        seen = self._builder.settings.evidence
        return self._once("checks", lambda: settings_check(self.site, self.learned, seen))

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
    def minutes(self) -> Minutes:
        """Means per minute, of everything."""
        return self._builder.minutes

    @property
    def battery(self) -> BatteryFacts:
        """What the recording tells of the battery."""
        return self._judged("battery", lambda: battery_judgement(self, self._builder), NOTHING_OF_BATTERY)

    @property
    def fuel(self) -> Fuel:
        """What each session burnt, and what the tank holds."""
        return self._judged("fuel", lambda: fuel_judgement(self), Fuel(None, (), None))

    @property
    def limit_advice(self) -> LimitAdvice:
        """What the AC input limit should be."""
        return self._judged("limit advice", lambda: advice_judgement(self, self._builder), NO_ADVICE)

    @property
    def forecasts(self) -> Sequence[Sequence[Forecast | None]]:
        """For each session, what would have been forecast at each quarter of it."""
        return self._judged("forecasts", lambda: quarters_judgement(self), ())

    @property
    def forecast(self) -> Forecast | None:
        """When the battery is charged, as of the last row; None where nothing can be said."""
        return self.forecast_at(int(self.recording.time[-1])) if len(self) else None

    def forecast_at(self, instant: int) -> Forecast | None:
        """The same as it would have been said at an instant (UTC nanoseconds)."""
        minute = instant // MINUTE_NS
        return self._once(
            f"forecast {minute}", lambda: forecast(self.minutes, self.learned, self.site, instant)
        )

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        """Meters that are suspected to lie."""
        return self._judged("suspects", lambda: suspects_judgement(self, self._builder), ())

    @property
    def figures(self) -> Figures:
        """Which review energies and pictures are told from: this one, or one with a lying meter put right."""
        return self._once("figures", lambda: figures_of(self, review))

    def evidence_against(self, suspect: Suspect) -> Evidence:
        """What doesn't add up as recorded, and as it would with the suspect corrected."""
        return self.evidence_work(suspect)()

    def evidence_work(self, suspect: Suspect) -> Callable[[], Evidence]:
        """The same as work that may be done beside the thread in which the review grows."""
        snapshot, learned, site = self._builder.suspects.snapshot(), self.learned, self.site
        return lambda: evidence(suspect, snapshot, learned, site)

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

    def _told_findings(self) -> tuple[Finding, ...]:
        caused = with_causes(self._found(), self.chains)
        return with_limit(caused, lambda: self.limit_advice, lambda: limit_set(self))

    def _found(self) -> tuple[Finding, ...]:
        return self._once("found", lambda: found_by(self._builder, self.suspects))

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
