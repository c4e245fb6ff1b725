"""What a report tells of: which review its figures are from, and what happened, as incidents."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from desktop.charging.sessions import Session
from desktop.diagnosis.finding import SEVERITIES, Severity
from desktop.report.incidents import Incident, incidents_of
from desktop.report.times import day_and_clock, day_and_minute, minute
from desktop.review import Review
from desktop.review.corrected import Figures
from desktop.review.verdict import leading
from desktop.words import clock, day


@dataclass(frozen=True)
class Account:
    """A review to report on. `figures` says which review numbers and pictures are told from."""

    figures: Figures

    @classmethod
    def of(cls, found: Review) -> Account:
        """The account of a review."""
        return cls(found.figures)

    @property
    def review(self) -> Review:
        """The review that numbers and pictures are told from."""
        return self.figures.review

    @property
    def in_doubt(self) -> bool:
        """True where energies can't be relied on."""
        return self.figures.in_doubt

    @property
    def note(self) -> str:
        """How its figures are reckoned; empty where they are as recorded."""
        return str(self.figures.note)

    def noted(self, caption: str) -> str:
        """A caption, with how the figures below it are reckoned."""
        return f"{caption} {self.note}".strip()

    @cached_property
    def incidents(self) -> tuple[Incident, ...]:
        """What happened, in order of time."""
        return incidents_of(self.figures)

    @cached_property
    def leading(self) -> Incident | None:
        """The incident that says most of what happened; None where nothing did."""
        first = leading(self.figures.findings)
        return next((one for one in self.incidents if first in (*one.findings, *one.beside)), None)

    @cached_property
    def pressing(self) -> tuple[tuple[Incident, ...], ...]:
        """Incidents that are more than notes, those alike together; the leading one first, then as they came."""
        return self._alike([one for one in self.incidents if one.pressing])

    @cached_property
    def notes(self) -> tuple[tuple[Incident, ...], ...]:
        """Incidents that are notes, likewise."""
        return self._alike([one for one in self.incidents if not one.pressing])

    def _alike(self, incidents: list[Incident]) -> tuple[tuple[Incident, ...], ...]:
        alike: dict[tuple[str, ...], list[Incident]] = {}
        for one in sorted(
            incidents,
            key=lambda one: (one is not self.leading, SEVERITIES.index(one.severity), one.first.start),
        ):
            alike.setdefault(one.kind, []).append(one)
        return tuple(map(tuple, alike.values()))

    def clock(self, instant: int) -> str:
        """When it was, to the second; with the day where more than one was recorded."""
        zone = self.review.site.zone
        return clock(instant, zone) if self._one_day else day_and_clock(instant, zone)

    def minute(self, instant: int) -> str:
        """When it was, to the minute; with the day where more than one was recorded."""
        zone = self.review.site.zone
        return minute(instant, zone) if self._one_day else day_and_minute(instant, zone)

    @cached_property
    def _one_day(self) -> bool:
        time, zone = self.review.recording.time, self.review.site.zone
        return not len(time) or day(int(time[0]), zone) == day(int(time[-1]), zone)

    @property
    def longest(self) -> Session | None:
        """The longest charge session."""
        return max(self.review.sessions, key=lambda one: one.end - one.start, default=None)

    @property
    def severity(self) -> Severity | None:
        """Of the worst finding; None where there is none."""
        there = {one.severity for one in self.incidents}
        return next((level for level in SEVERITIES if level in there), None)
