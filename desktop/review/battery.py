"""The battery as JSON and as text."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from desktop.charging.battery.apart import stretches_apart
from desktop.charging.battery.facts import BatteryFacts, Estimate, Lack, OwnSoc
from desktop.review.json_values import kilo, number, stamp
from desktop.words import Phrase, decimal, energy, percent, template

Object = dict[str, Any]

_LACKS: dict[Lack, str] = {
    "": "",
    "no power": "",
    "no state of charge": template(
        "How much the battery holds can't be told: no state of charge is recorded, and too seldom was it full."
    ),
    "too little moved": template(
        "How much the battery holds can't be told yet: its state of charge has hardly moved."
    ),
    "rows too far apart": template(
        "How much the battery holds can't be told: the readings lie too far apart to count what flowed."
    ),
    "nothing fits": template(
        "How much the battery holds can't be told: its reported state of charge doesn't follow what was counted. "
        "Check the sign of its power and current."
    ),
}


def battery_json(facts: BatteryFacts) -> Object:
    """What the battery is like; null is what isn't known. Intervals are 95 %.

    `source` is "measured", "given" (by the site sheet), "assumed" (by chemistry), or null.
    """
    resistance, whole = facts.resistance, facts.energy_efficiency
    return {
        "capacity_kwh": _estimate(facts.capacity_wh, 1000.0),
        "kwh_to_fill": _estimate(facts.fill_wh, 1000.0),
        "capacity_ah": _estimate(facts.capacity_ah),
        "charge_efficiency": number(whole.value),
        "energy_efficiency": _estimate(whole),
        "coulombic_efficiency": _estimate(facts.coulombic),
        "resistance_ohm": None if resistance is None else number(resistance.ohm),
        "resistance": None
        if resistance is None
        else {
            "ohm": number(resistance.ohm),
            "sd": number(resistance.sd),
            "steps": resistance.steps,
            "seconds": number(resistance.seconds),
        },
        "half_cycles": facts.half_cycles,
        "counted": {
            "in_kwh": kilo(facts.energy_in_wh),
            "out_kwh": kilo(facts.energy_out_wh),
            "in_ah": number(facts.charge_in_ah),
            "out_ah": number(facts.charge_out_ah),
        },
        "meter_gain_sd": number(facts.gain_sd),
        "lack": facts.lack or None,
        "own_soc": None if facts.own_soc is None else _own(facts.own_soc),
    }


def _estimate(estimate: Estimate, unit: float = 1.0) -> Object:
    return {
        "value": number(estimate.value / unit),
        "low": number(estimate.low / unit),
        "high": number(estimate.high / unit),
        "source": estimate.origin if estimate.known else None,
    }


def _own(own: OwnSoc) -> Object:
    """The last minute that is known, and where the reported state of charge left what was counted."""
    known = np.flatnonzero(np.isfinite(own.soc))
    if not known.size:
        return {"anchors": {"full": own.full, "rest": own.rest}}
    last = int(known[-1])
    return {
        "at": stamp(int(own.time[last])),
        "soc": number(float(own.soc[last])),
        "sd": number(float(own.sd[last])),
        "reported": number(float(own.reported[last])),
        "apart": [
            {
                "start": stamp(one.start),
                "end": stamp(one.end),
                "reported": number(one.reported),
                "counted": number(one.counted),
                "sd": number(one.sd),
            }
            for one in stretches_apart(own)
        ],
        "anchors": {"full": own.full, "rest": own.rest},
    }


def battery_text(facts: BatteryFacts) -> list[str]:
    """Lines for people; none where nothing is known of a battery."""
    if facts.lack == "no power":
        return []
    return [str(phrase) for phrase in _phrases(facts)]


def _phrases(facts: BatteryFacts) -> Iterator[Phrase]:
    if facts.lack:
        yield Phrase(_LACKS[facts.lack])
    yield from _capacity(facts)
    yield from _efficiency(facts)
    if facts.resistance is not None:
        yield Phrase(
            "Internal resistance {ohm} mΩ, give or take {sd}, from {steps:d} steps of the load.",
            ohm=decimal(1000 * facts.resistance.ohm, _digits(1000 * facts.resistance.sd)),
            sd=decimal(2000 * facts.resistance.sd, _digits(1000 * facts.resistance.sd)),
            steps=facts.resistance.steps,
        )
    if facts.own_soc is not None:
        yield from _counted(facts.own_soc)


def _capacity(facts: BatteryFacts) -> Iterator[Phrase]:
    held, fill = facts.capacity_wh, facts.fill_wh
    if held.origin == "measured":
        yield Phrase(
            "The battery delivers {value:Wh} from full to empty ({low} to {high}), by {cycles}.",
            value=held.value,
            low=energy(held.low),
            high=energy(held.high),
            cycles=Phrase("one charge or discharge")
            if facts.half_cycles < 2
            else Phrase("{count:d} charges and discharges", count=facts.half_cycles),
        )
    elif held.known:
        yield Phrase("By the site sheet the battery holds {value:Wh}.", value=held.value)
    if fill.known:
        yield Phrase(
            "It takes {value:Wh} to fill it from empty ({low} to {high}).{assumed}",
            value=fill.value,
            low=energy(fill.low),
            high=energy(fill.high),
            assumed=_assumed(fill),
        )


def _efficiency(facts: BatteryFacts) -> Iterator[Phrase]:
    whole = facts.energy_efficiency
    if whole.known:
        yield Phrase(
            "Of the energy put in over a whole charge {value:%} comes back ({low:%} to {high:%}).{assumed}",
            value=100 * whole.value,
            low=100 * whole.low,
            high=100 * whole.high,
            assumed=_assumed(whole),
        )


def _assumed(estimate: Estimate) -> Phrase:
    if estimate.origin != "assumed":
        return Phrase("")
    return Phrase(" The recording doesn't tell how much is lost near full; that is assumed by chemistry.")


def _counted(own: OwnSoc) -> Iterator[Phrase]:
    known = np.flatnonzero(np.isfinite(own.soc))
    if not known.size:
        return
    last = int(known[-1])
    reported = float(own.reported[last])
    told = Phrase("")
    if math.isfinite(reported):
        told = Phrase("; the gauge says {soc:%}", soc=reported)
    yield Phrase(
        "Counted from when it was last full or at rest it stands at {soc:%}, give or take {sd}{told}.",
        soc=float(own.soc[last]),
        sd=percent(2 * float(own.sd[last])),
        told=told,
    )
    apart = max(stretches_apart(own), key=lambda one: abs(one.reported - one.counted), default=None)
    if apart is not None:
        yield Phrase(
            "The gauge and the count parted: at the worst it said {reported:%} where {counted:%} were counted.",
            reported=apart.reported,
            counted=apart.counted,
        )


def _digits(sd: float) -> int:
    return max(0, min(2, -math.floor(math.log10(sd)))) if sd > 0 else 2
