"""Chains of what was urgent at the battery, and of two sources at once."""

from __future__ import annotations

import math
from collections.abc import Callable

from desktop.diagnosis.causes.book import CauseEvidence
from desktop.diagnosis.causes.chain import Chain, Link, ordered
from desktop.diagnosis.causes.seen import Seen
from desktop.diagnosis.finding import Finding
from desktop.words import Phrase

_MOST_OF = 0.7
_DROP_SHARE = 0.3
_LOOK_S = 30.0


def _during(finding: Finding, window: Seen) -> Seen:
    last = int(window.time[-1])
    return window.between(finding.start, last if finding.end is None else min(finding.end, last))


def _source(rows: Seen) -> tuple[Phrase, float, float]:
    """Who charges, and the medians of charger (DC side) and sun, W; NaN where not known."""
    charger, sun = rows.middle("converter_dc"), rows.middle("solar")
    if math.isnan(charger):
        charger = rows.middle("converter_ac")
    parts = [max(0.0, value) for value in (charger, sun) if not math.isnan(value)]
    whole = sum(parts)
    if not whole > 0:
        return Phrase(""), charger, sun
    if not math.isnan(sun) and sun > _MOST_OF * whole:
        return Phrase("the sun"), charger, sun
    if not math.isnan(charger) and charger > _MOST_OF * whole:
        return Phrase("the charger"), charger, sun
    return Phrase("charger and sun together"), charger, sun


def _charging_link(finding: Finding, rows: Seen) -> list[Link]:
    power = rows.middle("battery")
    who, _, _ = _source(rows)
    if math.isnan(power):
        return []
    text = Phrase("{power:W} went into the battery.", power=power)
    if who:
        text = Phrase("{power:W} went into the battery, from {who}.", power=power, who=who)
    return [Link(finding.start, "charging", power, "W", text)]


def charge_chain(evidence: CauseEvidence, finding: Finding, window: Seen) -> Chain:
    """Of a charge current over the charger's limit or the battery's maximum."""
    rows, plant = _during(finding, window), evidence.plant
    limit = window.between(0, finding.start).last("charge_limit")
    limit = plant.charger_a if math.isnan(limit) else limit
    links = _charging_link(finding, rows)
    if not math.isnan(limit):
        text = Phrase("The charger was set to {limit:A}.", limit=limit)
        links.append(Link(int(window.time[0]), "charge_limit", limit, "A", text))
    links.append(
        Link(
            finding.start,
            "charge_peak",
            finding.peak,
            "A",
            Phrase(
                "The current reached {peak:A}; {most:A} are allowed.",
                peak=finding.peak,
                most=finding.threshold,
            ),
        )
    )
    who, _, sun = _source(rows)
    of_battery = finding.threshold == plant.battery_a
    if of_battery and limit > plant.battery_a:
        cause = Phrase(
            "The charger is set to {limit:A}, more than the {most:A} that the battery may take.",
            limit=limit,
            most=plant.battery_a,
        )
    elif of_battery and sun > 0:
        cause = Phrase(
            "The charger's limit holds the charger alone: the sun added {sun:W}, and both together were too much.",
            sun=sun,
        )
    elif who:
        cause = Phrase("{who} gave more than its limit says.", who=_capital(who))
    else:
        cause = Phrase("Can't tell which source gave too much: they aren't recorded one by one.")
    return Chain(finding.kind, finding.start, ordered(links), cause, bool(who) or of_battery)


def _capital(who: Phrase) -> Phrase:
    named = {
        "the sun": Phrase("The sun"),
        "the charger": Phrase("The charger"),
        "charger and sun together": Phrase("Charger and sun together"),
    }
    return named[who.template]


def voltage_chain(evidence: CauseEvidence, finding: Finding, window: Seen) -> Chain:
    """Of a battery voltage above what charging may reach."""
    rows = _during(finding, window)
    links = _charging_link(finding, rows)
    links.append(
        Link(
            finding.start,
            "voltage_peak",
            finding.peak,
            "V",
            Phrase(
                "The battery reached {peak:V}; {most:V} are allowed.",
                peak=finding.peak,
                most=finding.threshold,
            ),
        )
    )
    shed = [
        one.step
        for one in evidence.steps
        if 0 <= finding.start - one.step.time <= _LOOK_S * 1e9
        and -one.step.size_w > _DROP_SHARE * abs(rows.middle("battery"))
    ]
    who, _, _ = _source(rows)
    if shed:
        size = -shed[-1].size_w
        links.append(
            Link(
                shed[-1].time,
                "load_step",
                -size,
                "W",
                Phrase("Something of {size:W} was switched off.", size=size),
            )
        )
        cause = Phrase("A load of {size:W} went off, and charging did not give way in time.", size=size)
    elif who:
        cause = Phrase("{who} went on charging above the voltage that it should hold.", who=_capital(who))
    else:
        cause = Phrase("Can't tell which source charged: they aren't recorded one by one.")
    return Chain(finding.kind, finding.start, ordered(links), cause, bool(shed) or bool(who))


def cold_chain(evidence: CauseEvidence, finding: Finding, window: Seen) -> Chain:
    """Of charging below the temperature at which the battery may be charged."""
    rows = _during(finding, window)
    celsius = rows.lowest("battery_temperature")
    text = Phrase(
        "The battery was at {celsius:°C}; below {least:°C} it must not be charged.",
        celsius=celsius,
        least=evidence.plant.coldest_charge_c,
    )
    links = [Link(finding.start, "temperature", celsius, "°C", text), *_charging_link(finding, rows)]
    who, _, _ = _source(rows)
    if who:
        cause = Phrase("{who} takes no notice of how cold the battery is.", who=_capital(who))
    else:
        cause = Phrase("Can't tell which source charged: they aren't recorded one by one.")
    return Chain(finding.kind, finding.start, ordered(links), cause, bool(who))


def sources_chain(evidence: CauseEvidence, finding: Finding, window: Seen) -> Chain:
    """Of generator and grid at once: which came second."""
    least = evidence.plant.carrying_w
    calm = window.between(0, finding.start - 1)
    generator, grid = calm.last("generator") > least, abs(calm.last("grid")) > least
    text = Phrase("From here on both carried more than {least:W}.", least=least)
    links = [Link(finding.start, "both_live", finding.peak, "W", text)]
    if generator and not grid:
        cause = Phrase("The generator was carrying the house when the grid was connected beside it.")
    elif grid and not generator:
        cause = Phrase("The grid was carrying the house when the generator was connected beside it.")
    else:
        cause = Phrase("Can't tell which came second: what was before isn't recorded.")
    return Chain(finding.kind, finding.start, tuple(links), cause, generator != grid)


CHAINS: dict[str, Callable[[CauseEvidence, Finding, Seen], Chain]] = {
    "charge_over_limit": charge_chain,
    "battery_over_voltage": voltage_chain,
    "charging_while_cold": cold_chain,
    "two_sources_live": sources_chain,
}
"""By kind of finding."""
