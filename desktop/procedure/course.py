"""The course of a charge: how every step stands at an instant."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from desktop.procedure.by_person import judged_by_person
from desktop.procedure.by_readings import judged_by_readings
from desktop.procedure.follower import Follower
from desktop.procedure.situation import Situation, StepState
from desktop.procedure.step import Step
from desktop.procedure.steps import BY_KEY, STEPS
from desktop.procedure.ticks import Ticks
from desktop.review import Review
from desktop.review.moment import Moment
from desktop.words import Phrase

_EVER = -(2**63)


@dataclass(frozen=True, slots=True)
class Standing:
    """All steps as they stand at an instant, in their order.

    time     the instant; read_at: that of the latest readings before it
    since    from when on ticks belong to the charge that is shown, UTC nanoseconds
    ticking  whether a person has ticked anything of it
    """

    time: int
    read_at: int
    since: int
    ticking: bool
    steps: tuple[StepState, ...]

    def of(self, key: str) -> StepState:
        """One of them."""
        return next(each for each in self.steps if each.step.key == key)

    @property
    def wrong(self) -> tuple[StepState, ...]:
        """Those that need attention: those that the readings contradict first, and later steps first."""
        found = (each for each in reversed(self.steps) if each.wrong)
        return tuple(sorted(found, key=lambda one: one.state != "contradicted"))

    @property
    def next(self) -> StepState | None:
        """The first that isn't done, after the last that is where nobody ticks; None where there is none."""
        done = [number for number, each in enumerate(self.steps, start=1) if each.done]
        first = 0 if self.ticking else max(done, default=0)
        return next((each for each in self.steps[first:] if not each.done), None)

    @property
    def foremost(self) -> StepState | None:
        """The step to look at: what is wrong, else what comes next."""
        return self.wrong[0] if self.wrong else self.next


class Course:
    """The procedure beside a review, or by itself.

    How it stands at an instant is a function of the review's rows up to it and of the ticks with their times: it
    doesn't matter by which way a cursor came there. Where there is no review, a person ticks everything.
    """

    def __init__(self, review: Review | None = None, ticks: Ticks | None = None) -> None:
        self.ticks = Ticks() if ticks is None else ticks
        self._review = review
        self._follower = None if review is None else Follower(review)

    def at(self, moment: Moment) -> Standing:
        """How it stands at a moment of the review."""
        if self._review is None or self._follower is None:
            return self.alone(moment.time)
        progress = self._follower.at(moment.row, self.ticks.anew)
        begun = tuple(one for one in self._review.findings if one.start <= moment.time)
        now = Situation(self._follower.plant, progress, moment.time, not moment.stale, begun)
        since = progress.charge.shown_from

        def judge(step: Step, ticked: int | None) -> StepState:
            judged = judged_by_readings if step.by_readings else judged_by_person
            return judged(step, ticked, now)

        states = [judge(step, self.ticks.at(step.key, since, moment.time)) for step in STEPS]
        slack = round(1e9 * now.plant.interval_s) if now.plant.interval_s > 0 else 0
        read_at = moment.time if progress.time is None else progress.time
        return self._ordered(states, (moment.time, read_at), since, slack)

    def alone(self, time: int) -> Standing:
        """How it stands by ticks alone, at an instant (UTC nanoseconds)."""
        since = max((begun for begun in self.ticks.anew if begun <= time), default=_EVER)
        states = []
        for step in STEPS:
            ticked = self.ticks.at(step.key, since, time)
            states.append(StepState(step, "open" if ticked is None else "ticked", ticked))
        return self._ordered(states, (time, time), since, 0)

    def toggle(self, key: str, standing: Standing) -> None:
        """A person ticks a step, or takes the tick back."""
        if self.ticks.at(key, standing.since, standing.time) is None:
            self.ticks.tick(key, standing.time)
        else:
            self.ticks.untick(key, standing.since, standing.time)

    def begin_anew(self, standing: Standing) -> None:
        """A person says that another charge begins."""
        self.ticks.begin_anew(standing.read_at, standing.time)

    def _ordered(self, states: list[StepState], times: tuple[int, int], since: int, slack: int) -> Standing:
        """With the order looked at. Steps that only a person can tick count where a person ticks at all."""
        by_key = {each.step.key: each for each in states}
        ticking = self.ticks.any(since, times[0])
        ordered = (replace(each, early=_skipped(each, by_key, ticking, slack)) for each in states)
        return Standing(*times, since, ticking, tuple(ordered))


def _skipped(state: StepState, by_key: Mapping[str, StepState], ticking: bool, slack: int) -> Step | None:
    """The first step that comes before this one and wasn't done when this one was."""
    if state.at is None or not state.done:
        return None
    for key in state.step.after:
        before = by_key[key]
        counts = ticking if before.state in ("can't tell", "ticked") or not before.step.by_readings else True
        late = not before.done or (before.at is not None and before.at > state.at + slack)
        if counts and late:
            return BY_KEY[key]
    return None


def said(state: StepState) -> Phrase:
    """What there is to say of a step beside its state; empty where there is nothing."""
    if state.early is None:
        return state.told
    order = Phrase("Out of order. Before it comes: {step}", step=state.early.text)
    if not state.told:
        return order
    return Phrase("{told} {order}", told=state.told, order=order)


def headline(standing: Standing) -> Phrase:
    """One sentence: what is wrong, else what comes next."""
    foremost = standing.foremost
    if foremost is None:
        return Phrase("All steps are done.")
    if foremost.wrong:
        return Phrase("{step} {said}", step=foremost.step.text, said=said(foremost))
    return Phrase("Next: {step}", step=foremost.step.text)
