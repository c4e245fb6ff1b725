"""Steps that readings tick: how each of them stands."""

from __future__ import annotations

import math
from collections.abc import Callable

from desktop.procedure.ending import cool, stop, unload
from desktop.procedure.overruled import shown_when_ticked
from desktop.procedure.signs import LIMIT_SLACK, leg_a
from desktop.procedure.situation import Situation, StepState
from desktop.procedure.standing_findings import COLD, LIMITS, NOT_CHARGING, as_it_stands
from desktop.procedure.starting import dead, start, warm
from desktop.procedure.step import Step
from desktop.procedure.verdict import NOTHING, OPEN, UNKNOWN, Verdict, failing
from desktop.words import Phrase, template

_SLOW_S = 900.0
"""For so long a temperature or a state of charge is still good."""


def judged_by_readings(step: Step, ticked: int | None, now: Situation) -> StepState:
    """How a step stands that readings can show.

    ticked  when a person ticked it; None where nobody did
    """
    found = _JUDGES[step.key](now)
    if ticked is None or found.state in ("done", "lasting"):
        return StepState(step, found.state, found.at, found.told, slip=found.slip, alarm=found.alarm)
    if _believed(step, found, now):
        shown = shown_when_ticked(step.key, ticked, now)
        return StepState(step, "overruled" if shown else "ticked", ticked, shown or found.told)
    told = found.told or Phrase("The readings don't show it.")
    now_wrong = found.alarm or found.state == "open"
    return StepState(step, "contradicted", ticked, told, slip=found.slip, alarm=now_wrong)


def _believed(step: Step, found: Verdict, now: Situation) -> bool:
    """Whether a person's word goes for a step that readings don't show."""
    if found.state in ("can't tell", "not seen"):
        return True
    if step.key == "warm":
        return found.state == "open" and bool(now.shows("running")) and bool(now.shows("in_band"))
    if step.key == "cool":
        return now.charge.relieved is not None
    return step.by_word


def _limit(now: Situation) -> Verdict:
    most, read = leg_a(now.plant), now.value("limit")
    fits = now.shows("limit_fits", math.inf)
    over = template(
        "The input limit of {limit:A} is above the {most:A} per leg that the generator can carry here."
    )
    if fits is not None:
        held = template("{limit:A} of the {most:A} per leg that the generator can carry here.")
        told = Phrase(held if fits else over, limit=read, most=most)
        return Verdict("done", now.charge.since.get("limit_fits"), told) if fits else failing(told)
    by_sheet = now.plant.limit_a
    if math.isnan(by_sheet) or math.isnan(most):
        return UNKNOWN
    if by_sheet > LIMIT_SLACK * most:
        return failing(Phrase(over, limit=by_sheet, most=most))
    text = template(
        "The site sheet says {limit:A}, of the {most:A} per leg that the generator can carry here."
    )
    return Verdict("can't tell", told=Phrase(text, limit=by_sheet, most=most))


def _charger(now: Situation) -> Verdict:
    enabled = now.shows("enabled", math.inf)
    if enabled is None:
        return UNKNOWN
    if enabled:
        return Verdict("done", now.charge.since.get("enabled"))
    off = Phrase("The charger is switched off.")
    return failing(off) if now.shows("loaded") else Verdict("open", told=off)


def _battery(now: Situation) -> Verdict:
    if finding := now.finding(COLD):
        return failing(as_it_stands(finding, now))
    fit = now.shows("temperate", _SLOW_S)
    if fit is None:
        return UNKNOWN
    if fit:
        told = Phrase("{celsius:°C}", celsius=now.value("celsius"))
        return Verdict("done", now.charge.since.get("temperate"), told)
    text = template("The battery is at {celsius:°C}: it must not be charged at that.")
    return failing(Phrase(text, celsius=now.value("celsius")))


def _loaded(now: Situation) -> Verdict:
    if now.charge.loaded is not None:
        told = Phrase("Power flows from the generator.") if now.shows("loaded") else NOTHING
        return Verdict("done", now.charge.loaded, told)
    return UNKNOWN if now.shows("loaded") is None else OPEN


def _carried(now: Situation) -> Verdict:
    charge = now.charge
    if charge.carried is not None:
        return Verdict("done", charge.carried)
    if now.shows("carried") is None:
        return UNKNOWN
    told = Phrase("The inverter-charger still feeds the house.") if now.shows("loaded") else NOTHING
    return Verdict("open", told=told)


def _charging(now: Situation) -> Verdict:
    if finding := now.finding(NOT_CHARGING):
        return failing(as_it_stands(finding, now))
    if now.charge.charging is not None:
        return Verdict("done", now.charge.charging)
    return UNKNOWN if now.shows("charging") is None else OPEN


def _within(now: Situation) -> Verdict:
    """It is kept as long as there is load, and told whether it was when there is none any more."""
    if finding := now.finding(LIMITS):
        return failing(as_it_stands(finding, now))
    charge, loaded = now.charge, now.shows("loaded")
    if charge.loaded is None:
        return UNKNOWN if loaded is None else OPEN
    past = now.past(LIMITS)
    told = NOTHING if past is None else Phrase("Not all the time: {finding}", finding=past.text)
    ended = charge.stopped if charge.relieved is None else charge.relieved
    if ended is None:
        return Verdict("lasting", told=told, slip=past is not None)
    return Verdict("done", ended, told, slip=past is not None)


def _target(now: Situation) -> Verdict:
    if now.charge.full is not None:
        return Verdict("done", now.charge.full)
    if now.shows("full", _SLOW_S) is None:
        return UNKNOWN
    text = template("The readings show the battery at {soc:%}, target {target:%}.")
    target = now.plant.site.battery.target_soc
    return Verdict("open", told=Phrase(text, soc=now.value("soc"), target=target))


_JUDGES: dict[str, Callable[[Situation], Verdict]] = {
    "limit": _limit,
    "charger": _charger,
    "battery": _battery,
    "dead": dead,
    "start": start,
    "warm": warm,
    "close": _loaded,
    "seen": _loaded,
    "carried": _carried,
    "charging": _charging,
    "within": _within,
    "target": _target,
    "unload": unload,
    "cool": cool,
    "stop": stop,
}
