"""All that a step is judged by, and what is said of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from desktop.diagnosis.finding import Finding
from desktop.diagnosis.plant import Plant
from desktop.procedure.charge import Charge
from desktop.procedure.progress import Progress
from desktop.procedure.signs import LIVE_V
from desktop.procedure.step import Step
from desktop.review.moment import LimitNow
from desktop.words import Phrase, template

State = Literal[
    "open",
    "not now",
    "lasting",
    "done",
    "ticked",
    "overruled",
    "contradicted",
    "not met",
    "not seen",
    "can't tell",
]

STATE_NAMES: dict[State, str] = {
    "open": template("Open"),
    "not now": template("Not now"),
    "lasting": template("Goes on"),
    "done": template("Seen"),
    "ticked": template("Ticked"),
    "overruled": template("Ticked against the readings"),
    "contradicted": template("Contradicted"),
    "not met": template("Not met"),
    "not seen": template("Not seen"),
    "can't tell": template("Can't be told"),
}
"""open: not done yet; not now: it would hurt now; lasting: a duty that holds as long as there is load; done: the
readings show it; ticked: a person says so; overruled: a person said so before the readings showed it, which is
theirs to say; contradicted: a person says so and the readings say otherwise; not met:
the readings say otherwise; not seen: the charge went past it, and nobody ticked it; can't tell: the readings can't
show it, a person has to."""


@dataclass(frozen=True, slots=True)
class StepState:
    """A step as it stands.

    at     when it was done, UTC nanoseconds; None where it isn't or nothing tells when
    told   what the readings say; empty where there is nothing to say
    early  the step that comes first and wasn't done then; None where the order was kept
    slip   something went wrong with it that is past
    alarm  something is wrong with it now
    """

    step: Step
    state: State
    at: int | None = None
    told: Phrase = field(default_factory=lambda: Phrase(""))
    early: Step | None = None
    slip: bool = False
    alarm: bool = False

    @property
    def done(self) -> bool:
        """Whether readings or a person say that it is done."""
        return self.state in ("done", "ticked", "overruled")

    @property
    def slipped(self) -> bool:
        """Whether there is something to reproach it with that is past."""
        return self.slip or self.early is not None


@dataclass(frozen=True, slots=True)
class Situation:
    """An instant of a charge as readings show it.

    time      the instant, UTC nanoseconds
    fresh     False where the latest readings are too old to be believed
    findings  all of the recording that have begun, in order of time
    limits    values held against their limits at the instant
    ticks     key → when a person ticked the step in this charge
    soc_at    the state of charge that was read last up to an instant, %; NaN where none was
    """

    plant: Plant
    progress: Progress
    time: int
    fresh: bool
    findings: tuple[Finding, ...]
    limits: tuple[LimitNow, ...] = ()
    ticks: Mapping[str, int] = field(default_factory=dict)
    soc_at: Callable[[int], float] = lambda _: math.nan

    @property
    def charge(self) -> Charge:
        """The charge that the instant belongs to."""
        return self.progress.charge

    @property
    def metered_terminals(self) -> bool:
        """Whether the generator's voltage or frequency is read at all: only they tell a set at rest from one
        without load."""
        return bool({"volts", "hz"} & self.progress.known.keys())

    def shows(self, sign: str, hold_s: float | None = None) -> bool | None:
        """How a sign stands now; None where it isn't read, or was too long ago."""
        hold = self.plant.hold_s if hold_s is None else hold_s
        if not self.fresh or not self.progress.read_lately(sign, hold):
            return None
        return self.progress.levels.get(sign, 0.0) > 0

    def value(self, name: str) -> float:
        """The latest reading of a value; NaN where there is none."""
        return self.progress.values.get(name, math.nan)

    def volts(self) -> Phrase:
        """`: 231 V` where it is the voltage that shows a live line."""
        read = self.value("volts")
        return Phrase(": {volts:V}", volts=read) if read >= LIVE_V else Phrase("")

    def live(self) -> Phrase:
        """`The line is live: 231 V.`"""
        return Phrase("The line is live{volts}.", volts=self.volts())

    def finding(self, kinds: frozenset[str]) -> Finding | None:
        """The latest of these kinds that stands."""
        standing = (one for one in reversed(self.findings) if one.stands_at(self.time))
        return next((one for one in standing if one.kind in kinds), None)

    def past(self, kinds: frozenset[str]) -> Finding | None:
        """The latest of these kinds that began in this charge and is over."""
        since = self.charge.begun
        over = (one for one in reversed(self.findings) if one.end is not None and one.end <= self.time)
        return next((one for one in over if one.kind in kinds and one.start >= since), None)

    def clock(self, text: str, time: int | None, **values: object) -> Phrase:
        """A phrase with a clock time of the site in it."""
        return Phrase(text, self.plant.site.zone, time=time, **values)
