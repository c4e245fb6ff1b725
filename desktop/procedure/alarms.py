"""What is wrong now: the fact first, then what to do about it at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from desktop.diagnosis.finding import SEVERITIES, Severity
from desktop.procedure.by_person import CONNECTING, PARTING
from desktop.procedure.ending import dropped
from desktop.procedure.situation import Situation, StepState
from desktop.procedure.standing_findings import (
    COLD,
    LIMITS,
    NOT_CHARGING,
    TWO_SOURCES,
    as_it_stands,
    what_to_do,
)
from desktop.procedure.steps import NUMBER
from desktop.words import Phrase, template

FED_FROM_ELSEWHERE_S = 15.0
"""A line that is live so long after the set came to rest isn't one that is running down."""


@dataclass(frozen=True, slots=True)
class Alarm:
    """Something that is wrong now.

    key    the step that it concerns
    fact   what is so
    then   what to do
    holds  True where nothing else is to be done before
    """

    key: str
    severity: Severity
    fact: Phrase
    then: Phrase
    holds: bool = False


def alarms_of(now: Situation, states: Sequence[StepState]) -> tuple[Alarm, ...]:
    """All that is wrong now, the most urgent first."""
    by_key = {each.step.key: each for each in states}
    found = [
        *_hands(now, by_key),
        *_findings(now),
        *_stopped_under_load(now),
        *_settings(now, by_key),
        *_claims(by_key),
    ]
    return tuple(sorted(found, key=lambda one: SEVERITIES.index(one.severity)))


def _hands(now: Situation, states: dict[str, StepState]) -> Iterator[Alarm]:
    """Where a hand may be on something that is live or hot."""
    touch_nothing = Phrase("{live} Touch nothing.", live=now.live())
    if _fed_from_elsewhere(now):
        then = Phrase(
            "The generator stands: something else feeds its line. A qualified person has to find out what, before "
            "anything is touched."
        )
        yield Alarm("stop", "act now", touch_nothing, then, holds=True)
    if any(states[key].alarm for key in CONNECTING):
        key = next(key for key in ("house_end", "source_end") if states[key].alarm)
        then = Phrase(
            "If the cable isn't connected yet, stop the generator, and wait until the line is dead. If it was "
            "connected while the line was dead, say so: steps {house:d} and {source:d} are done then.",
            house=NUMBER["house_end"],
            source=NUMBER["source_end"],
        )
        yield Alarm(key, "act now", touch_nothing, then, holds=True)
    for key in sorted(PARTING, key=NUMBER.__getitem__):
        if states[key].alarm:
            then = Phrase(
                "Step {number:d} was ticked. Take the load off and stop the generator before any end of the cable "
                "is touched.",
                number=NUMBER[key],
            )
            yield Alarm(key, "act now", touch_nothing, then, holds=True)
            break
    if states["refuel"].alarm:
        then = Phrase("Don't refuel it now. Take the load off, stop it, and let it cool down first.")
        yield Alarm("refuel", "act now", Phrase("The generator runs."), then, holds=True)


def _fed_from_elsewhere(now: Situation) -> bool:
    stopped, since = now.charge.stopped, now.charge.since.get("live")
    if stopped is None or since is None or not now.shows("live") or now.shows("running") is not False:
        return False
    return (now.time - max(stopped, since)) / 1e9 >= FED_FROM_ELSEWHERE_S


def _findings(now: Situation) -> Iterator[Alarm]:
    """What the review has found, and what still stands of it."""
    for kinds, key in (
        (TWO_SOURCES, "interlock"),
        (LIMITS, "within"),
        (COLD, "battery"),
        (NOT_CHARGING, "charging"),
    ):
        if finding := now.finding(kinds):
            yield Alarm(key, finding.severity, as_it_stands(finding, now), what_to_do(finding))


def _stopped_under_load(now: Situation) -> Iterator[Alarm]:
    """Until a person goes on."""
    stopped = now.charge.stopped
    if stopped is None or not dropped(now) or any(at >= stopped for at in now.ticks.values()):
        return
    fact = now.clock(template("The generator stopped under load at {time:clock}."), stopped)
    then = Phrase(
        "Switch off its breaker and all large loads. Before it is started again, find out what stopped it, and let "
        "it cool down."
    )
    yield Alarm("unload", "act now", fact, then)


def _settings(now: Situation, states: dict[str, StepState]) -> Iterator[Alarm]:
    loaded = bool(now.shows("loaded"))
    if states["limit"].alarm:
        then = (
            template("Set it lower now.")
            if loaded
            else template("Set it lower before the generator is connected.")
        )
        yield Alarm("limit", "attend", states["limit"].told, Phrase(then))
    if states["charger"].alarm and not now.finding(NOT_CHARGING):
        then = template("Enable it, or the generator runs for the house alone.")
        yield Alarm("charger", "attend", states["charger"].told, Phrase(then))
    if states["battery"].alarm and not now.finding(COLD):
        then = template("Don't charge it until it is within its maker's limits.")
        yield Alarm("battery", "act now" if loaded else "attend", states["battery"].told, Phrase(then))


def _claims(states: dict[str, StepState]) -> Iterator[Alarm]:
    """What a person says and the readings don't."""
    told_otherwise = PARTING | {"refuel", "dead", "interlock", "limit", "charger", "battery"}
    for key, each in states.items():
        if each.state == "contradicted" and each.alarm and key not in told_otherwise:
            fact = Phrase("Step {number:d} was ticked, and the readings don't show it.", number=NUMBER[key])
            then = Phrase("Look once more, or take the tick back.")
            yield Alarm(key, "attend", fact, then)
