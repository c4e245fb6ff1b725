"""The chain of a battery that fell below its reserve: what drained it, what charged it, and when help came."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from desktop.charging.sessions import Session
from desktop.diagnosis.causes.chain import Chain, Link, ordered
from desktop.diagnosis.finding import Finding
from desktop.flow.minutes import Minutes
from desktop.words import Phrase

LOOK_BACK_S = 48 * 3600.0
"""It is looked for the beginning of the decline in the last two days, and since the last charge by generator."""

_LEAST_S = 900.0
_LEAST_WH = 50.0
_KNOWN_SHARE = 0.9


@dataclass(frozen=True, slots=True)
class Decline:
    """From the highest state of charge to the reserve. NaN where not known.

    since   when it was highest, UTC nanoseconds; soc: how high
    span_s  from then until the reserve was reached
    load_wh, sun_wh, grid_wh  what the house took, and what sun and grid gave meanwhile
    """

    since: int
    soc: float
    span_s: float
    load_wh: float
    sun_wh: float
    grid_wh: float


def low_chain(finding: Finding, minutes: Minutes, sessions: Sequence[Session]) -> Chain:
    """Of a state of charge below the reserve. A pure function."""
    decline = _decline(finding.start, minutes, sessions)
    helped = next((one for one in sessions if one.end > finding.start), None)
    links = [*_declined(finding, decline), *_helped(finding, helped)]
    if decline is None:
        cause = Phrase("Can't tell what drained it: too little before it is recorded.")
        return Chain(finding.kind, finding.start, ordered(links), cause, False)
    return Chain(finding.kind, finding.start, ordered(links), _cause(finding, decline, helped), True)


def _decline(start: int, minutes: Minutes, sessions: Sequence[Session]) -> Decline | None:
    earliest = start - round(LOOK_BACK_S * 1e9)
    earliest = max([earliest, *(one.end for one in sessions if one.end <= start)])
    time = minutes.time
    within = np.flatnonzero((time >= earliest) & (time <= start))
    soc = minutes.channel("battery_soc")[within]
    if not within.size or not np.isfinite(soc).any():
        return None
    highest = float(np.nanmax(soc))
    from_there = within[int(np.flatnonzero(soc == highest)[-1]) :]
    span_s = (start - int(time[from_there[0]])) / 1e9
    if span_s < _LEAST_S:
        return None
    return Decline(
        since=int(time[from_there[0]]),
        soc=highest,
        span_s=span_s,
        load_wh=_energy(minutes, from_there, span_s, "load"),
        sun_wh=_energy(minutes, from_there, span_s, "solar", "solar_ac"),
        grid_wh=_energy(minutes, from_there, span_s, "grid"),
    )


def _energy(minutes: Minutes, rows: NDArray[np.intp], span_s: float, *streams: str) -> float:
    """What streams carried over these minutes, Wh; NaN where one of them isn't known for most of the time."""
    whole = 0.0
    for name in streams:
        power = minutes.stream(name)[rows]
        known = np.isfinite(power)
        if not np.count_nonzero(known) * minutes.width_s >= _KNOWN_SHARE * span_s:
            return math.nan
        whole += float(power[known].mean()) * span_s / 3600
    return whole


def _declined(finding: Finding, decline: Decline | None) -> list[Link]:
    below = Phrase("It fell below the reserve of {reserve:%}.", reserve=finding.threshold)
    links = [Link(finding.start, "below_reserve", finding.threshold, "%", below)]
    if decline is None:
        return links
    stood = Phrase(
        "The battery stood at {soc:%}, and from then on it gave more than it took.", soc=decline.soc
    )
    return [Link(decline.since, "highest_charge", decline.soc, "%", stood), *links]


def _helped(finding: Finding, session: Session | None) -> list[Link]:
    if session is None:
        return []
    if session.start <= finding.start:
        text = Phrase("The generator carried load already.")
        return [Link(finding.start, "generator_on", math.nan, "", text)]
    text = Phrase("The generator took over, with the battery at {soc:%}.", soc=session.soc_start)
    return [Link(session.start, "generator_on", session.soc_start, "%", text)]


def _cause(finding: Finding, decline: Decline, helped: Session | None) -> Phrase:
    return Phrase(
        "{drained}{late}",
        drained=_drained(decline),
        late=_late(finding, helped),
    )


def _drained(decline: Decline) -> Phrase:
    if math.isnan(decline.load_wh):
        return Phrase(
            "It was down from {soc:%} within {span:time}; what the house took isn't known.",
            soc=decline.soc,
            span=decline.span_s,
        )
    given = [
        (decline.sun_wh, Phrase("the sun gave {sun:Wh}", sun=decline.sun_wh)),
        (decline.grid_wh, Phrase("the grid gave {grid:Wh}", grid=decline.grid_wh)),
    ]
    told = [phrase for amount, phrase in given if amount >= _LEAST_WH]
    values: dict[str, Any] = {"soc": decline.soc, "span": decline.span_s, "load": decline.load_wh}
    if not told:
        return Phrase(
            "In the {span:time} before, from {soc:%} down, the house took {load:Wh}, and nothing charged.",
            **values,
        )
    if len(told) == 1:
        return Phrase(
            "In the {span:time} before, from {soc:%} down, the house took {load:Wh}, and {source}.",
            source=told[0],
            **values,
        )
    return Phrase(
        "In the {span:time} before, from {soc:%} down, the house took {load:Wh}, {source}, and {other}.",
        source=told[0],
        other=told[1],
        **values,
    )


def _late(finding: Finding, session: Session | None) -> Phrase:
    if session is None:
        return Phrase(" No generator came on until the recording ended.")
    if session.start <= finding.start:
        return Phrase(" The generator was on, and did not keep up.")
    return Phrase(
        " The generator came on {delay:time} later, at {soc:%}.",
        delay=(session.start - finding.start) / 1e9,
        soc=session.soc_start,
    )
