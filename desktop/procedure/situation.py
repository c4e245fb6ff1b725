"""All that a step is judged by, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from desktop.diagnosis.finding import Finding
from desktop.diagnosis.plant import Plant
from desktop.procedure.charge import Charge
from desktop.procedure.progress import Progress
from desktop.procedure.step import Step
from desktop.words import Phrase, template

State = Literal["open", "done", "ticked", "contradicted", "can't tell"]

STATE_NAMES: dict[State, str] = {
    "open": template("Open"),
    "done": template("Seen"),
    "ticked": template("Ticked"),
    "contradicted": template("Contradicted"),
    "can't tell": template("Can't be told"),
}
"""open: not done yet; done: the readings show it; ticked: a person says so; contradicted: the readings say
otherwise; can't tell: the readings can't show it, a person has to."""


@dataclass(frozen=True, slots=True)
class StepState:
    """A step as it stands.

    at     when it was done, UTC nanoseconds; None where it isn't or nothing tells when
    told   what the readings say; empty where there is nothing to say
    early  the step that comes first and wasn't done then; None where the order was kept
    """

    step: Step
    state: State
    at: int | None = None
    told: Phrase = field(default_factory=lambda: Phrase(""))
    early: Step | None = None

    @property
    def done(self) -> bool:
        """Whether readings or a person say that it is done."""
        return self.state in ("done", "ticked")

    @property
    def wrong(self) -> bool:
        """Whether it needs attention."""
        return self.state == "contradicted" or self.early is not None


@dataclass(frozen=True, slots=True)
class Situation:
    """An instant of a charge as readings show it.

    time      the instant, UTC nanoseconds
    fresh     False where the latest readings are too old to be believed
    findings  all of the recording that have begun, in order of time
    """

    plant: Plant
    progress: Progress
    time: int
    fresh: bool
    findings: tuple[Finding, ...]

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
        return self.progress.values.get(name, float("nan"))

    def finding(self, kinds: frozenset[str]) -> Finding | None:
        """The latest of these kinds that stands."""
        standing = (one for one in reversed(self.findings) if one.stands_at(self.time))
        return next((one for one in standing if one.kind in kinds), None)

    def past(self, kinds: frozenset[str]) -> Finding | None:
        """The latest of these kinds that began in this charge."""
        since = self.charge.begun
        return next(
            (one for one in reversed(self.findings) if one.kind in kinds and one.start >= since), None
        )

    def clock(self, text: str, time: int | None, **values: float) -> Phrase:
        """A phrase with a clock time of the site in it."""
        return Phrase(text, self.plant.site.zone, time=time, **values)
