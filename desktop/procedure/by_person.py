"""Steps that only a person can tick, and where readings speak against them."""

from __future__ import annotations

from collections.abc import Mapping

from desktop.procedure.situation import Situation, StepState
from desktop.procedure.standing_findings import TWO_SOURCES, as_it_stands
from desktop.procedure.step import Step
from desktop.words import Phrase, template

CONNECTING = frozenset({"house_end", "source_end"})
PARTING = frozenset({"part_source", "part_house"})
_FUEL = frozenset({"fuel", "refuel"})


def judged_by_person(step: Step, ticked: int | None, now: Situation) -> StepState:
    """How a step stands that no reading can show.

    ticked  when a person ticked it; None where nobody did
    """
    if step.key == "interlock" and (finding := now.finding(TWO_SOURCES)):
        told = as_it_stands(finding, now)
        return StepState(step, "not met" if ticked is None else "contradicted", ticked, told, alarm=True)
    if ticked is not None:
        return _ticked(step, ticked, now)
    if step.key in CONNECTING:
        return _to_be_connected(step, now)
    if step.key in PARTING and now.shows("live"):
        told = Phrase("{live} Disconnect nothing before the generator stands.", live=now.live())
        return StepState(step, "not now", told=told)
    if step.key == "refuel" and now.shows("running"):
        return StepState(step, "not now", told=Phrase("The generator runs."))
    return _lasting(step, now) if step.lasting else StepState(step, "open")


def judged_alone(step: Step, ticks: Mapping[str, int]) -> StepState:
    """How a step stands by ticks alone (key → when, UTC nanoseconds)."""
    ticked = ticks.get(step.key)
    if ticked is not None:
        return StepState(step, "ticked", ticked)
    if step.key in CONNECTING and claimed_to_run(ticks):
        return StepState(step, "not now", told=_STARTED)
    return StepState(step, "open")


def claimed_to_run(ticks: Mapping[str, int]) -> bool:
    """Whether a person says that the set was started, and not that it was stopped."""
    return "start" in ticks and "stop" not in ticks


_STARTED = Phrase("The generator was started: the line may be live. Stop the generator first.")


def _ticked(step: Step, ticked: int, now: Situation) -> StepState:
    """Ticked, with what the readings said then; contradicted as long as that would still hurt."""
    charge = now.charge
    if step.key in CONNECTING | PARTING and charge.was("live", ticked):
        told = now.clock(template("The line was live when this was ticked at {time:clock}."), ticked)
        if step.key in PARTING and now.shows("live"):
            return StepState(step, "contradicted", ticked, told, alarm=True)
        return StepState(step, "ticked", ticked, told, slip=True)
    if step.key in _FUEL and charge.was("running", ticked):
        told = now.clock(template("The generator ran when this was ticked at {time:clock}."), ticked)
        if step.key == "refuel" and now.shows("running"):
            return StepState(step, "contradicted", ticked, told, alarm=True)
        return StepState(step, "ticked", ticked, told, slip=True)
    return StepState(step, "ticked", ticked)


def _to_be_connected(step: Step, now: Situation) -> StepState:
    if now.charge.loaded is not None:
        told = Phrase(
            "Power has flowed through the cable. Whether it was connected while dead, the readings can't tell."
        )
        return StepState(step, "not seen", told=told)
    if now.shows("live"):
        return StepState(step, "not now", told=now.live(), alarm=True)
    return StepState(step, "not now", told=_STARTED) if claimed_to_run(now.ticks) else StepState(step, "open")


def _lasting(step: Step, now: Situation) -> StepState:
    return StepState(step, "lasting" if now.shows("loaded") else "open")
