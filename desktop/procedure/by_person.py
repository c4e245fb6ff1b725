"""Steps that only a person can tick, and where readings speak against them."""

from __future__ import annotations

from desktop.procedure.signs import LIVE_V
from desktop.procedure.situation import Situation, StepState
from desktop.procedure.step import Step
from desktop.words import Phrase, template

_CONNECTING = frozenset({"house_end", "source_end"})
_PARTING = frozenset({"part_source", "part_house"})
_FUEL = frozenset({"fuel", "refuel"})
_TWO_SOURCES = frozenset({"two_sources_live"})


def judged_by_person(step: Step, ticked: int | None, now: Situation) -> StepState:
    """How a step stands that no reading can show.

    ticked  when a person ticked it; None where nobody did
    """
    if step.key == "interlock" and (finding := now.finding(_TWO_SOURCES)):
        return StepState(step, "contradicted", ticked, finding.text)
    if ticked is not None:
        against = _against(step, ticked, now)
        return StepState(step, "contradicted" if against else "ticked", ticked, against)
    if step.key in _CONNECTING and now.charge.loaded is not None:
        told = Phrase(
            "Power has flowed through it. Whether it was connected while dead, the readings can't tell."
        )
        return StepState(step, "can't tell", told=told)
    if step.key in _CONNECTING and now.shows("live"):
        text = template("The line is live{volts}. If the cable isn't connected yet, stop the set first.")
        told = Phrase(text, volts=volts(now))
        return StepState(step, "contradicted", told=told)
    if step.key in _PARTING and now.shows("live"):
        told = Phrase("The line is live{volts}. Disconnect nothing before the set stands.", volts=volts(now))
        return StepState(step, "open", told=told)
    return StepState(step, "open")


def volts(now: Situation) -> Phrase:
    """`: 231 V` where it is the voltage that shows a live line."""
    read = now.value("volts")
    return Phrase(": {volts:V}", volts=read) if read >= LIVE_V else Phrase("")


def _against(step: Step, ticked: int, now: Situation) -> Phrase:
    """What the readings say against a tick."""
    charge = now.charge
    if step.key in _CONNECTING | _PARTING and charge.was("live", ticked):
        return now.clock(template("The line was live when this was ticked at {time:clock}."), ticked)
    if step.key in _FUEL and charge.was("running", ticked):
        return now.clock(template("The set ran when this was ticked at {time:clock}."), ticked)
    return Phrase("")
