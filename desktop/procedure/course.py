"""The course of a charge: how every step stands at an instant."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from desktop.diagnosis.finding import Severity
from desktop.procedure.alarms import Alarm, alarms_of
from desktop.procedure.by_person import judged_alone, judged_by_person
from desktop.procedure.by_readings import judged_by_readings
from desktop.procedure.follower import Follower
from desktop.procedure.order import how_far, in_order, next_of
from desktop.procedure.shown_now import shown_now
from desktop.procedure.situation import Situation, StepState
from desktop.procedure.step import Step
from desktop.procedure.steps import NUMBER, STEPS, numbered
from desktop.procedure.ticks import Tick, Ticks
from desktop.review import Review
from desktop.review.moment import Moment
from desktop.words import Phrase

ANEW = "anew"

_EVER = -(2**63)
_BEFORE_NS = 12 * 3_600_000_000_000
"""What was ticked so long before the first row was another charge."""


@dataclass(frozen=True, slots=True)
class Standing:
    """All steps as they stand at an instant, in their order.

    time     the instant; read_at: that of the latest readings before it
    since    from when on ticks belong to the charge that is shown, UTC nanoseconds
    prepared_since  the same of the steps before the start: they may be ticked as soon as the set has stopped
    alarms   what is wrong now, the most urgent first
    shown    what the readings show; empty where there are none
    runs     whether the set turns, or is under way by what was ticked
    live_since  since when the line has been live, UTC nanoseconds; None where it isn't, or nothing tells
    """

    time: int
    read_at: int
    since: int
    prepared_since: int
    steps: tuple[StepState, ...]
    alarms: tuple[Alarm, ...] = ()
    shown: Phrase = field(default_factory=lambda: Phrase(""))
    runs: bool = False
    live_since: int | None = None

    def of(self, key: str) -> StepState:
        """One of them."""
        return next(each for each in self.steps if each.step.key == key)

    @property
    def alarm(self) -> Alarm | None:
        """The most urgent of what is wrong now."""
        return self.alarms[0] if self.alarms else None

    @property
    def held(self) -> bool:
        """Whether something has to be put right before anything else is done."""
        return self.alarm is not None and self.alarm.holds

    @property
    def next(self) -> StepState | None:
        """The step that comes next; None where there is none, or something else has to be done first."""
        return None if self.held else next_of(self.steps)

    @property
    def over(self) -> bool:
        """Whether the charge has been gone through to its end."""
        return not self.held and next_of(self.steps) is None

    @property
    def unseen(self) -> tuple[StepState, ...]:
        """Steps before the start that nobody ticked, while the set is under way."""
        before = self.steps[: NUMBER["start"] - 1] if self.runs else ()
        return tuple(each for each in before if each.state == "not seen")

    @property
    def duties(self) -> tuple[StepState, ...]:
        """What is to be minded all the time now."""
        return tuple(each for each in self.steps if each.state == "lasting")

    @property
    def foremost(self) -> str:
        """The key of the step to look at: that of what is wrong, else of what comes next; empty where none is."""
        if self.alarm is not None:
            return self.alarm.key
        return "" if self.next is None else self.next.step.key

    def severity_of(self, state: StepState) -> Severity | None:
        """How urgent it is what is wrong with a step, or was; None where nothing is."""
        if state.alarm:
            told = (alarm.severity for alarm in self.alarms if alarm.key == state.step.key)
            return next(told, "act now")
        return "attend" if state.slipped else None

    def since_of(self, key: str) -> int:
        """From when on ticks of a step belong to this charge."""
        return self.prepared_since if NUMBER[key] < NUMBER["start"] else self.since


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
        if self._review is None or self._follower is None or moment.row < 0:
            return self.alone(moment.time)
        progress = self._follower.at(moment.row, self.ticks.anew)
        plant = self._follower.plant
        earliest = int(self._review.recording.time[0]) - _BEFORE_NS
        since = max(progress.charge.shown_from, earliest)
        prepared_since = max(progress.charge.begun, earliest)
        ticked = self._ticked(since, prepared_since, moment.time)
        ticks = {key: one.done for key, one in ticked.items()}
        begun = tuple(one for one in self._review.findings if one.start <= moment.time)
        now = Situation(
            plant, progress, moment.time, not moment.stale, begun, moment.limits, ticks, self._soc_at
        )
        slack = round(1e9 * plant.interval_s) if plant.interval_s > 0 else 0
        states = in_order([_judged(step, now) for step in STEPS], _first_said(ticked), slack)
        return Standing(
            time=moment.time,
            read_at=moment.time if progress.time is None else progress.time,
            since=since,
            prepared_since=prepared_since,
            steps=states,
            alarms=alarms_of(now, states),
            shown=shown_now(moment, now),
            runs=_under_way(now, states),
            live_since=progress.charge.since.get("live") if now.shows("live") else None,
        )

    def alone(self, time: int) -> Standing:
        """How it stands by ticks alone, at an instant (UTC nanoseconds)."""
        since = max((begun for begun in self.ticks.anew if begun <= time), default=_EVER)
        ticked = self._ticked(since, since, time)
        ticks = {key: one.done for key, one in ticked.items()}
        states = [judged_alone(step, ticks) for step in STEPS]
        ordered = in_order(states, _first_said(ticked), 0)
        runs = "stop" not in ticks and how_far(ordered) >= 0
        return Standing(time, time, since, since, ordered, runs=runs)

    def toggle(self, key: str, standing: Standing) -> None:
        """A person ticks a step, or takes the tick back."""
        since = standing.since_of(key)
        if self.ticks.of(key, since, standing.time) is None:
            self.ticks.tick(key, standing.time)
        else:
            self.ticks.untick(key, since, standing.time)

    def connected_before(self, standing: Standing) -> None:
        """A person says that both ends of the cable were connected before the line was live."""
        live = standing.time if standing.live_since is None else standing.live_since
        for key in ("house_end", "source_end"):
            if not standing.of(key).done:
                self.ticks.tick(key, max(live - 1, standing.prepared_since), standing.time)

    def last_said(self, standing: Standing) -> str | None:
        """The step that was ticked last in this charge; ANEW where only its beginning was said; else None."""
        key = self.ticks.last(min(standing.since, standing.prepared_since), standing.time)
        begun = self.ticks.last_anew is not None and self.ticks.last_anew == standing.since
        return ANEW if key is None and begun else key

    def take_back(self, standing: Standing) -> None:
        """What was said last wasn't meant."""
        last = self.last_said(standing)
        if last == ANEW:
            self.ticks.take_back_anew()
        elif last is not None:
            self.ticks.untick_last(last)

    def begin_anew(self, standing: Standing) -> None:
        """A person says that another charge begins."""
        self.ticks.begin_anew(standing.read_at, standing.time)

    def _soc_at(self, instant: int) -> float:
        moment = None if self._review is None else self._review.moment(instant)
        return math.nan if moment is None else moment.battery.soc

    def _ticked(self, since: int, prepared_since: int, until: int) -> dict[str, Tick]:
        found = {}
        for step in STEPS:
            begun = prepared_since if NUMBER[step.key] < NUMBER["start"] else since
            ticked = self.ticks.of(step.key, begun, until)
            if ticked is not None:
                found[step.key] = ticked
        return found


def _judged(step: Step, now: Situation) -> StepState:
    judged = judged_by_readings if step.by_readings else judged_by_person
    return judged(step, now.ticks.get(step.key), now)


def _first_said(ticked: Mapping[str, Tick]) -> int | None:
    """When a person first said anything; None where nobody did."""
    return min((one.said for one in ticked.values()), default=None)


def _under_way(now: Situation, states: tuple[StepState, ...]) -> bool:
    if now.metered_terminals:
        return now.charge.started is not None and now.charge.stopped is None
    return how_far(states) >= 0 and not states[NUMBER["stop"] - 1].done


def said(state: StepState) -> Phrase:
    """What there is to say of a step beside its state; empty where there is nothing."""
    if state.early is None:
        return state.told
    order = Phrase("Out of order. Before it comes: {step}", step=state.early.text)
    if not state.told:
        return order
    return Phrase("{told} {order}", told=state.told, order=order)


def how_it_ended(standing: Standing) -> Phrase:
    """At the end of a charge: that all steps are done, or which of them nobody ticked and no reading showed."""
    missed = [each.step.key for each in standing.steps if each.state == "not seen"]
    if len(missed) == 1:
        return Phrase(
            "The charge is over. Neither ticked nor seen: step {number:d}.", number=NUMBER[missed[0]]
        )
    if missed:
        return Phrase("The charge is over. Neither ticked nor seen: steps {steps}.", steps=numbered(missed))
    return Phrase("All steps are done.")


def headline(standing: Standing) -> Phrase:
    """What is wrong now and what to do about it; else what comes next."""
    alarm, following = standing.alarm, standing.next
    if alarm is not None:
        return Phrase("{fact} {then}", fact=alarm.fact, then=alarm.then) if alarm.then else alarm.fact
    if following is None:
        return Phrase("{ended} The next charge begins with step 1.", ended=how_it_ended(standing))
    step = following.step
    return Phrase("Next, step {number:d}: {step}", number=NUMBER[step.key], step=step.text)
