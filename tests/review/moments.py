"""Moments made by hand: the streams are told by the source-to-sink table."""

from __future__ import annotations

import math

import numpy as np

from desktop.diagnosis.finding import Finding
from desktop.flow.streams import SINKS, SOURCES, STREAMS
from desktop.review.moment import BatteryNow, GapNow, GeneratorNow, LimitNow, Moment, StreamNow
from desktop.words import Phrase

NAN = math.nan


def moment_of(
    flows: dict[tuple[str, str], float] | None = None,
    *,
    unknown: tuple[str, ...] = (),
    running: bool | None = None,
    current: float = NAN,
    limit_a: float | None = None,
    soc: float = 63.0,
    stale: bool = False,
    row: int = 0,
    gaps: tuple[GapNow, ...] = (),
    limits: tuple[LimitNow, ...] = (),
    findings: tuple[Finding, ...] = (),
) -> Moment:
    """A moment in which these powers flow from source to sink, W. Unknown streams make the table unknown."""
    table = np.zeros((len(SOURCES), len(SINKS)))
    for (source, sink), watts in (flows or {}).items():
        table[SOURCES.index(source), SINKS.index(sink)] = watts
    given = {name: float(table[row].sum()) for row, name in enumerate(SOURCES)}
    taken = {name: float(table[:, column].sum()) for column, name in enumerate(SINKS)}
    value = dict.fromkeys(STREAMS, 0.0)
    value |= {name: given[name] for name in ("generator", "solar", "solar_ac")}
    value |= {"load": taken["load"], "dc_load": taken["dc_load"], "loss": taken["losses"]}
    value |= {name: sign * (taken[name] - given[name]) for name, sign in (("battery", 1), ("grid", -1))}
    if unknown:
        table[:] = NAN
    streams = {
        name: StreamNow(
            name,
            "unknown" if name in unknown else "measured",
            NAN if name in unknown else watts,
            10.0,
            watts,
            None,
        )
        for name, watts in value.items()
    }
    spinning = given["generator"] > 0 if running is None else running
    return Moment(
        time=1_767_225_600_000_000_000,
        row=row,
        stale=stale,
        streams=streams,
        table=table,
        gaps=gaps,
        generator=GeneratorNow(spinning, 230.0, current, 50.0, (), (), limit_a, None, False, False),
        battery=BatteryNow(52.0, 10.0, soc, 20.0, 80.0, 20.0),
        limits=limits,
        session=None,
        findings=findings,
        severity=findings[0].severity if findings else None,
    )


def finding_of(kind: str, text: str, advice: str) -> Finding:
    """A finding that stands."""
    return Finding(
        kind,
        0,
        None,
        "generator_power",
        1.0,
        1.0,
        "W",
        Phrase(kind),
        Phrase(text),
        Phrase(""),
        Phrase(advice),
    )
