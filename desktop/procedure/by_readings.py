"""Steps that readings tick: how each of them stands."""

from __future__ import annotations

import math
from collections.abc import Callable

from desktop.charging.stop_kinds import COOL_DOWN_S
from desktop.procedure.by_person import volts
from desktop.procedure.charge import COOLED_S
from desktop.procedure.signs import LIMIT_SLACK, leg_a
from desktop.procedure.situation import Situation, State, StepState
from desktop.procedure.step import Step
from desktop.words import Phrase, template

_SLOW_S = 900.0
"""For so long a temperature or a state of charge is still good."""

_LIMITS = frozenset(
    {
        "input_over_limit", "generator_over_rating", "charge_over_limit", "battery_over_voltage",
        "generator_frequency_low", "generator_frequency_high", "generator_voltage_low", "generator_voltage_high",
    }
)  # fmt: skip
_NOT_CHARGING = frozenset({"charger_idle", "battery_discharging_on_generator"})
_COLD = frozenset({"charging_while_cold"})

_Verdict = tuple[State, int | None, Phrase]

_NOTHING = Phrase("")
_UNKNOWN: _Verdict = ("can't tell", None, _NOTHING)


def judged_by_readings(step: Step, ticked: int | None, now: Situation) -> StepState:
    """How a step stands that readings can show.

    ticked  when a person ticked it; None where nobody did
    """
    state, at, told = _JUDGES[step.key](now)
    if ticked is not None and state == "can't tell":
        return StepState(step, "ticked", ticked, told)
    if ticked is not None and state == "open":
        told = told or Phrase("It was ticked, and the readings don't show it.")
        return StepState(step, "contradicted", ticked, told)
    return StepState(step, state, at, told)


def _limit(now: Situation) -> _Verdict:
    most, read = leg_a(now.plant), now.value("limit")
    fits = now.shows("limit_fits", math.inf)
    over = template("The limit of {limit:A} is above the {most:A} per leg that the set can carry here.")
    if fits is not None:
        held = template("{limit:A} of the {most:A} per leg that the set can carry here.")
        told = Phrase(held if fits else over, limit=read, most=most)
        return ("done", now.charge.since.get("limit_fits"), told) if fits else ("contradicted", None, told)
    by_sheet = now.plant.limit_a
    if math.isnan(by_sheet) or math.isnan(most):
        return _UNKNOWN
    if by_sheet > LIMIT_SLACK * most:
        return "contradicted", None, Phrase(over, limit=by_sheet, most=most)
    text = template("The site sheet says {limit:A}, of the {most:A} per leg that the set can carry here.")
    return "can't tell", None, Phrase(text, limit=by_sheet, most=most)


def _charger(now: Situation) -> _Verdict:
    enabled = now.shows("enabled", math.inf)
    if enabled is None:
        return _UNKNOWN
    if enabled:
        return "done", now.charge.since.get("enabled"), _NOTHING
    state: State = "open" if now.charge.loaded is None else "contradicted"
    return state, None, Phrase("The charger is switched off.")


def _battery(now: Situation) -> _Verdict:
    if finding := now.finding(_COLD):
        return "contradicted", None, finding.text
    fit = now.shows("temperate", _SLOW_S)
    if fit is None:
        return _UNKNOWN
    told = Phrase("{celsius:°C}", celsius=now.value("celsius"))
    if fit:
        return "done", now.charge.since.get("temperate"), told
    text = template("{celsius:°C}: it must not be charged at that.")
    return "contradicted", None, Phrase(text, celsius=now.value("celsius"))


def _dead(now: Situation) -> _Verdict:
    charge, live = now.charge, now.shows("live")
    if charge.dead is not None and charge.live is not None:
        return "done", charge.dead, now.clock(template("It was dead until {time:clock}."), charge.live)
    if live is None:
        return _UNKNOWN
    if not live:
        return ("done", charge.dead, _NOTHING) if charge.live is None else _UNKNOWN
    if charge.loaded is None:
        return "contradicted", None, Phrase("The line is live{volts}.", volts=volts(now))
    return "can't tell", None, Phrase("It carried load already, and wasn't seen dead before.")


def _start(now: Situation) -> _Verdict:
    if now.charge.started is not None:
        return "done", now.charge.started, _NOTHING
    return _UNKNOWN if now.shows("running") is None else ("open", None, _NOTHING)


def _warm(now: Situation) -> _Verdict:
    charge, fits, running = now.charge, now.shows("in_band"), now.shows("running")
    told = _measured(now) if running else _NOTHING
    if charge.joined:
        return "can't tell", None, Phrase("It carried load already when it was first seen.")
    if charge.hurried:
        return "contradicted", None, Phrase("It took load before frequency and voltage were in their bands.")
    if charge.warm is not None:
        return "done", charge.warm, told
    if fits is None:
        return _UNKNOWN
    if running and not fits:
        told = Phrase("{measured}: out of band.", measured=told)
    return "open", None, told


def _measured(now: Situation) -> Phrase:
    hz, read = now.value("hz"), now.value("volts")
    if math.isnan(hz) or math.isnan(read):
        return Phrase("{volts:V}", volts=read) if math.isnan(hz) else Phrase("{hz:Hz}", hz=hz)
    return Phrase("{hz:Hz}, {volts:V}", hz=hz, volts=read)


def _loaded(now: Situation) -> _Verdict:
    if now.charge.loaded is not None:
        return "done", now.charge.loaded, Phrase("Power flows from it.") if now.shows("loaded") else _NOTHING
    return _UNKNOWN if now.shows("loaded") is None else ("open", None, _NOTHING)


def _carried(now: Situation) -> _Verdict:
    charge = now.charge
    if charge.carried is not None:
        return "done", charge.carried, _NOTHING
    if now.shows("carried") is None:
        return _UNKNOWN
    told = Phrase("The inverter-charger still feeds the house.") if now.shows("loaded") else _NOTHING
    return "open", None, told


def _charging(now: Situation) -> _Verdict:
    if finding := now.finding(_NOT_CHARGING):
        return "contradicted", None, finding.text
    if now.charge.charging is not None:
        return "done", now.charge.charging, _NOTHING
    return _UNKNOWN if now.shows("charging") is None else ("open", None, _NOTHING)


def _within(now: Situation) -> _Verdict:
    if finding := now.finding(_LIMITS):
        return "contradicted", None, finding.text
    if now.charge.loaded is None:
        return _UNKNOWN if now.shows("loaded") is None else ("open", None, _NOTHING)
    past = now.past(_LIMITS)
    told = _NOTHING if past is None else Phrase("Not all the time: {finding}", finding=past.text)
    return "done", now.charge.loaded, told


def _target(now: Situation) -> _Verdict:
    if now.charge.full is not None:
        return "done", now.charge.full, _NOTHING
    if now.shows("full", _SLOW_S) is None:
        return _UNKNOWN
    text = template("{soc:%} of {target:%}.")
    return "open", None, Phrase(text, soc=now.value("soc"), target=now.plant.site.battery.target_soc)


def _unload(now: Situation) -> _Verdict:
    if _dropped(now):
        return "contradicted", None, Phrase("It stopped under load.")
    if now.charge.relieved is not None:
        return "done", now.charge.relieved, _NOTHING
    if now.charge.stopped is not None or now.shows("loaded") is None or not now.metered_terminals:
        return _UNKNOWN
    return "open", None, _NOTHING


def _cool(now: Situation) -> _Verdict:
    charge = now.charge
    if _dropped(now):
        return "contradicted", None, Phrase("It stopped under load.")
    if charge.cooled is not None:
        return "done", charge.cooled, _NOTHING
    if not now.metered_terminals:
        return _UNKNOWN
    if charge.stopped is not None:
        text = template("It ran on without load for {ran_on:time} only.")
        short = charge.ran_on_s + now.plant.interval_s < COOLED_S
        return ("contradicted", None, Phrase(text, ran_on=charge.ran_on_s)) if short else _UNKNOWN
    if now.shows("running") is None:
        return _UNKNOWN
    if charge.relieved is not None and now.progress.time is not None:
        runs_on = (now.progress.time - charge.relieved) / 1e9
        return "open", None, Phrase("Without load for {runs_on:time}.", runs_on=runs_on)
    return "open", None, _NOTHING


def _dropped(now: Situation) -> bool:
    """Whether it came to rest under load, as far as rows are close enough to tell."""
    charge = now.charge
    seen = charge.stopped is not None and charge.loaded is not None and now.metered_terminals
    return seen and charge.ran_on_s <= COOL_DOWN_S and now.plant.interval_s <= COOL_DOWN_S


def _stop(now: Situation) -> _Verdict:
    charge = now.charge
    if not now.metered_terminals:
        return _UNKNOWN
    live = now.shows("live")
    if charge.stopped is not None and live is False:
        return "done", max(charge.stopped, charge.since.get("live", charge.stopped)), _NOTHING
    if charge.stopped is not None and live:
        return "open", None, Phrase("The line is live{volts}.", volts=volts(now))
    return (
        _UNKNOWN if now.shows("running") is None or charge.stopped is not None else ("open", None, _NOTHING)
    )


_JUDGES: dict[str, Callable[[Situation], _Verdict]] = {
    "limit": _limit,
    "charger": _charger,
    "battery": _battery,
    "dead": _dead,
    "start": _start,
    "warm": _warm,
    "close": _loaded,
    "seen": _loaded,
    "carried": _carried,
    "charging": _charging,
    "within": _within,
    "target": _target,
    "unload": _unload,
    "cool": _cool,
    "stop": _stop,
}
