"""Suspects in words: what is wrong, how to make sure, and how to tell rivals apart."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from desktop.channel_names import CHANNEL_NAMES
from desktop.diagnosis.suspects.case import Case
from desktop.diagnosis.suspects.judging import Outcome
from desktop.diagnosis.suspects.lags import Lag
from desktop.diagnosis.suspects.names import METER_NAMES
from desktop.diagnosis.suspects.suspect import Suspect, usual_factor
from desktop.diagnosis.suspects.trials import Fault
from desktop.words import Phrase, template

_UNITS: dict[str, str] = {
    "offset": "W",
    "stuck": "W",
    "unmetered_load": "W",
    "unmetered_source": "W",
    "lag": "s",
}

_FACTORS = {
    1000.0: template("{meter} reads a thousand times too much: W were taken for kW."),
    10.0: template("{meter} reads ten times too much."),
    2.0: template("{meter} reads twice what flows: something is counted twice."),
    0.5: template("{meter} reads half of what flows: it sees one leg or one clamp of two."),
    0.1: template("{meter} reads a tenth of what flows."),
    0.001: template("{meter} reads a thousandth of what flows: kW were taken for W."),
}

_CHECKS: dict[str, str] = {
    "reversed": template("Turn its clamp round, or change its sign where it is set up or in the site sheet."),
    "scale": template(
        "Hold another meter against it under a steady load; check its unit, its ratio and that each clamp is in."
    ),
    "offset": template("Switch off everything that it measures for a minute, and see what it reads then."),
    "stuck": template("Restart the meter or its line, and see whether it moves when a load is switched."),
    "one_leg": template("See that each leg runs through a clamp of its own and that all are added up."),
    "swapped": template("See which clamp sits on which cable, and exchange the two where they are named."),
    "unmetered_load": template(
        "Look for a circuit that branches off before the meter; switch it off and see whether the balance closes."
    ),
    "unmetered_source": template(
        "Look for a source that feeds in behind the meter; switch it off and see whether the balance closes."
    ),
    "lag": template("See that all meters are read at the same time and averaged over the same while."),
}


def told(case: Case, outcome: Outcome, explains: float, rivals: tuple[Suspect, ...]) -> Suspect:
    """A suspect out of what came of its trial."""
    trial = outcome.trial
    time, width = case.snapshot.time, round(case.snapshot.width_s * 1e9)
    first, last = 0, len(time) - 1
    if trial.runs is not None:
        stood = np.flatnonzero(
            (trial.runs.label >= 0) & (case.snapshot.low[trial.meters[0]] == outcome.parameter)
        )
        first, last = (int(stood[0]), int(stood[-1])) if len(stood) else (first, last)
    return _suspect(
        trial.channel,
        trial.fault,
        outcome.parameter,
        outcome.sd,
        explains,
        rivals,
        (int(time[first]), int(time[last]) + width),
    )


def told_late(case: Case, late: Lag) -> Suspect:
    """A suspect whose readings come late."""
    span = int(case.snapshot.time[0]), int(case.snapshot.time[-1]) + round(case.snapshot.width_s * 1e9)
    rivals = tuple(
        _suspect(case.meters[row].channel, "lag", seconds, math.nan, 1 - left, (), span)
        for row, seconds, left in late.rivals
    )
    channel = case.meters[late.row].channel
    return _suspect(channel, "lag", late.seconds, late.sd, 1 - late.left, rivals, span)


def _suspect(
    channel: str,
    fault: Fault,
    parameter: float,
    sd: float,
    explains: float,
    rivals: tuple[Suspect, ...],
    span: tuple[int, int],
) -> Suspect:
    text = _text(channel, fault, parameter)
    advice = Phrase(_CHECKS[fault]) if not rivals else apart([channel, *(each.channel for each in rivals)])
    return Suspect(
        channel,
        fault,
        float(parameter),
        float(sd),
        _UNITS.get(fault, ""),
        explains,
        rivals,
        text,
        advice,
        *span,
    )


def _text(channel: str, fault: Fault, parameter: float) -> Phrase:
    meter = METER_NAMES.get(channel, "")
    match fault:
        case "reversed":
            return Phrase("{meter} reads with the wrong sign.", meter=meter)
        case "scale":
            usual = usual_factor(parameter)
            if usual:
                return Phrase(_FACTORS[usual], meter=meter)
            if parameter < 0:
                return Phrase(
                    "{meter} reads {factor:.2f} times what flows, with the wrong sign.",
                    meter=meter,
                    factor=-parameter,
                )
            return Phrase("{meter} reads {factor:.2f} times what flows.", meter=meter, factor=parameter)
        case "offset" if parameter > 0:
            return Phrase("{meter} reads {power:W} too much.", meter=meter, power=parameter)
        case "offset":
            return Phrase("{meter} reads {power:W} too little.", meter=meter, power=-parameter)
        case "stuck":
            return Phrase(
                "{meter} stands at {power:W} while other readings move.", meter=meter, power=parameter
            )
        case "one_leg":
            return Phrase(
                "{meter} doesn't see every leg: about {share:%} of what flows.",
                meter=meter,
                share=100 * parameter,
            )
        case "swapped":
            one, other = (CHANNEL_NAMES[name] for name in channel.split("+"))
            return Phrase("The readings of {one} and {other} are exchanged.", one=one, other=other)
        case "lag":
            return Phrase("{meter} tells its readings {time:time} late.", meter=meter, time=parameter)
    return _unmetered(channel, fault, parameter)


def _unmetered(bus: str, fault: Fault, mean_w: float) -> Phrase:
    place = Phrase("on the AC side") if bus == "ac" else Phrase("on the DC side")
    if fault == "unmetered_load":
        return Phrase(
            "Something is used {place} that no meter sees: {power:W} on average.",
            place=place,
            power=abs(mean_w),
        )
    return Phrase(
        "Something feeds in {place} that no meter sees: {power:W} on average.", place=place, power=abs(mean_w)
    )


def apart(channels: Iterable[str]) -> Phrase:
    """What tells these apart."""
    names = {name for channel in channels for name in channel.split("+")}
    if names & {"solar_power", "solar_ac_power"}:
        return Phrase("To tell them apart, run the generator with solar switched off for five minutes.")
    if names & {"ac", "dc"}:
        return Phrase(
            "To tell them apart, switch circuits off one by one for a minute each, with the others running on."
        )
    if names & {"battery_power", "battery_current", "converter_ac_power", "converter_dc_power"}:
        return Phrase(
            "To tell them apart, let the battery carry the house for five minutes, then charge for as long."
        )
    return Phrase(
        "To tell them apart, switch a heater of known power on and off a few times while the generator runs."
    )
