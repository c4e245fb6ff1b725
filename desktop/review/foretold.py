"""What was forecast during each session, beside what came."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from desktop.charging.forecast.forecast import FULL_ENOUGH, Forecast, Span
from desktop.charging.sessions import Session
from desktop.words import Phrase, template

if TYPE_CHECKING:
    from desktop.review.reviewing import Review

_AS_SAID_S = 60.0

_LATE, _EARLY = template("{span:time} later"), template("{span:time} earlier")


@dataclass(frozen=True, slots=True)
class Foretold:
    """When a state of charge would be reached, as it was said, and as it came. Instants are UTC nanoseconds.

    at       when it was said
    soc      percent
    when     what was said
    came     when it was first reported to be reached; None where it wasn't within the session
    session  when the session ended
    """

    at: int
    soc: float
    when: Span
    came: int | None
    session: int

    @property
    def off_s(self) -> float | None:
        """How much later than expected it came, s; None where it didn't come, or was expected never to."""
        if self.came is None or self.when.at is None:
            return None
        return (self.came - self.when.at) / 1e9

    @property
    def held(self) -> bool | None:
        """Whether it came within the range that was said; None where the session ended before that was seen."""
        latest = self.when.high
        if self.came is None:
            return None if latest is None or self.session <= latest else False
        return (self.when.low is None or self.when.low <= self.came) and (
            latest is None or self.came <= latest
        )

    @property
    def off(self) -> Phrase:
        """How much later or earlier it came than expected; empty where that isn't known."""
        off_s = self.off_s
        if off_s is None:
            return Phrase("")
        if abs(off_s) < _AS_SAID_S:
            return Phrase("as said")
        return Phrase(_LATE if off_s > 0 else _EARLY, span=60.0 * round(abs(off_s) / 60.0))


def foretold(review: Review) -> tuple[Foretold, ...]:
    """What was said of the nearest target at each quarter of each session that is over, as far as it could be."""
    return tuple(_foretold(review, review.sessions, review.forecasts))


def held_phrase(told: Sequence[Foretold]) -> Phrase:
    """How often what was said came true; empty where that isn't known of any."""
    seen = [each.held for each in told if each.held is not None]
    if not seen:
        return Phrase("")
    return Phrase(
        "{held} of {count} came within the range that was said; four of five should.",
        held=str(sum(seen)),
        count=str(len(seen)),
    )


def _foretold(
    review: Review, sessions: Sequence[Session], forecasts: Sequence[Sequence[Forecast | None]]
) -> Iterator[Foretold]:
    for session, said in zip(sessions, forecasts, strict=False):
        for one in said if session.stop != "still running" else ():
            if one is not None and one.targets:
                target = one.targets[0]
                came = reached(review, one.at, session.end, target.soc)
                yield Foretold(one.at, target.soc, target.when, came, session.end)


def reached(review: Review, since: int, until: int, soc: float) -> int | None:
    """When the reported state of charge first stood at a target, UTC nanoseconds; None where it didn't."""
    recording = review.recording
    if "battery_soc" not in recording:
        return None
    first, stop = np.searchsorted(recording.time, (since, until), side="left")
    there = np.flatnonzero(recording.column("battery_soc")[first : stop + 1] >= min(soc, FULL_ENOUGH))
    return int(recording.time[first + there[0]]) if there.size else None
