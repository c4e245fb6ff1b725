"""Chains of a generator that stopped under load: overloaded, run dry, or what can't be told apart."""

from __future__ import annotations

import math

import numpy as np

from desktop.charging.stops import Halt
from desktop.diagnosis.causes.asked import before_link, sag_links, step_links, stretch
from desktop.diagnosis.causes.book import CauseEvidence
from desktop.diagnosis.causes.chain import Chain, Link, ordered
from desktop.diagnosis.causes.overload import overload_stop_chain, stop_link
from desktop.diagnosis.causes.seen import Seen
from desktop.diagnosis.finding import Finding
from desktop.words import Phrase

_FINE_S = 1.5
_BEFORE_S = 12.0


def stop_chain(evidence: CauseEvidence, finding: Finding, window: Seen) -> Chain | None:
    """Of a stop under load; None where the book doesn't know of it."""
    halt = next((one for one in evidence.halts if one.stopped == finding.start), None)
    if halt is None:
        return None
    if halt.reason == "overload":
        return overload_stop_chain(evidence, finding, window, halt)
    since = halt.loaded - round(max(_BEFORE_S, np.nan_to_num(halt.evidence.sank_s)) * 1e9)
    part = stretch(evidence, window, since, halt.loaded)
    links = [
        *before_link(part, evidence.plant),
        *step_links(evidence, part),
        *_fuel_link(window, halt),
        *sag_links(part, evidence.plant),
        stop_link(halt),
    ]
    cause, certain = stop_cause(halt)
    certain = certain and (bool(halt.reason) or evidence.legs_known)
    return Chain(finding.kind, finding.start, ordered(links), cause, certain, _lacking(evidence, halt))


def _fuel_link(window: Seen, halt: Halt) -> list[Link]:
    rows = window.between(0, halt.loaded)
    level = rows.last("fuel_level")
    if math.isnan(level):
        return []
    same = np.flatnonzero(rows["fuel_level"] != level)
    at = int(rows.time[min(int(same[-1]) + 1, len(rows) - 1)]) if same.size else int(rows.time[0])
    return [Link(at, "fuel", level, "%", Phrase("The tank read {fuel:%}.", fuel=level))]


def stop_cause(halt: Halt) -> tuple[Phrase, bool]:
    """Why a set stopped that was not overloaded for certain, in a sentence, and whether that is certain."""
    seen = halt.evidence
    if halt.reason == "dry tank":
        if not math.isnan(seen.fuel):
            return Phrase("It ran dry: the tank read {fuel:%}.", fuel=seen.fuel), True
        return _starved(halt), True
    if halt.kind == "under load":
        return (
            Phrase(
                "Speed and load were as usual to the last moment: no overload shows, and no shortage of fuel. It "
                "was switched off under load, or a protection stopped it, such as for low oil."
            ),
            True,
        )
    return _unclear(halt), False


def _starved(halt: Halt) -> Phrase:
    seen = halt.evidence
    sank = Phrase("for {sank:time}", sank=seen.sank_s)
    if not math.isnan(seen.lowest_hz):
        sank = Phrase("to {lowest:Hz} over {sank:time}", lowest=seen.lowest_hz, sank=seen.sank_s)
    return Phrase(
        "It was short of fuel: its speed sank {sank}, with no load step before. An empty tank does that, or a "
        "blocked filter.",
        sank=sank,
    )


def _unclear(halt: Halt) -> Phrase:
    seen = halt.evidence
    if seen.sank_s > 0 and seen.fuel > 0:
        return Phrase(
            "Can't tell: its speed sank for {sank:time} though the tank read {fuel:%}. A blocked filter, a wrong "
            "gauge or an overload may do that.",
            sank=seen.sank_s,
            fuel=seen.fuel,
        )
    if seen.interval_s > _FINE_S:
        return Phrase(
            "Can't tell whether it was overloaded, ran dry or was switched off: the readings lie {step:time} "
            "apart.",
            step=seen.interval_s,
        )
    return Phrase("Can't tell whether it was overloaded, ran dry or was switched off.")


def _lacking(evidence: CauseEvidence, halt: Halt) -> tuple[Phrase, ...]:
    seen, told = halt.evidence, []
    if math.isnan(seen.fuel):
        told.append(Phrase("The fuel level isn't recorded: it would tell whether the tank was empty."))
    if not seen.speed_known:
        told.append(
            Phrase("Neither frequency nor voltage is recorded: they would show an engine in trouble.")
        )
    if math.isnan(seen.share):
        told.append(Phrase("The site sheet gives no rating of the generator to hold this against."))
    if not halt.reason and not evidence.legs_known:
        told.append(Phrase("The legs aren't metered one by one: an overload of one of them would not show."))
    if not evidence.load_known:
        told.append(Phrase("The house load isn't recorded: what was switched on can't be told."))
    return tuple(told)
