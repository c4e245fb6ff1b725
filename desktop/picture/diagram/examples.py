"""Made-up moments of every kind of plant, to look at the diagram in every state."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from desktop.flow.streams import SINKS, SOURCES, STREAMS
from desktop.review.moment import (
    BatteryNow,
    GapNow,
    GeneratorNow,
    Knowledge,
    LimitNow,
    LimitState,
    Moment,
    StreamNow,
)
from desktop.words import Phrase

NAN = math.nan

Feeds = Mapping[tuple[str, str], float]
"""(source, sink) → W."""

RATED: dict[str, float] = {
    "generator": 7000.0,
    "grid": 6000.0,
    "solar_ac": 3000.0,
    "solar": 4200.0,
    "load": 5000.0,
    "converter_ac": 5000.0,
    "converter_dc": 5000.0,
    "battery": 6000.0,
    "dc_load": 800.0,
    "loss": 500.0,
}

_AC_SOURCES = ("generator", "grid", "solar_ac")
_DC_SOURCES = ("solar", "battery")


def example(
    feeds: Feeds,
    *,
    plant: tuple[str, ...] = ("generator", "solar"),
    unknown: tuple[str, ...] = (),
    knowledge: Mapping[str, Knowledge] | None = None,
    rated: Mapping[str, float] | None = None,
    soc: float = 63.0,
    limit_a: float | None = 25.0,
    legs: tuple[float, ...] = (),
    state: LimitState = "ok",
    gaps: tuple[GapNow, ...] = (),
    stale: bool = False,
    row: int = 0,
) -> Moment:
    """A moment in which these powers flow.

    plant    sources and sinks besides house loads, battery and converter
    unknown  streams of which nothing is known; the source-to-sink table is then not known either
    legs     amperes per leg, drawn where there are any
    state    of the AC input limit
    """
    table = np.zeros((len(SOURCES), len(SINKS)))
    for (source, sink), watts in feeds.items():
        table[SOURCES.index(source), SINKS.index(sink)] = watts
    values = _values(feeds)
    has = {*plant, "load", "battery", "converter_ac", "converter_dc", "loss"}
    if unknown:
        table[:] = NAN
    streams = {
        name: _stream(name, values[name], has, unknown, dict(knowledge or {}), {**RATED, **(rated or {})})
        for name in STREAMS
    }
    return Moment(
        time=1_767_225_600_000_000_000,
        row=row,
        stale=stale,
        streams=streams,
        table=table,
        gaps=gaps,
        generator=_generator(values["generator"], limit_a if "generator" in has else None, legs),
        battery=BatteryNow(53.1, values["battery"] / 53.1, soc, 18.0, 80.0, 20.0),
        limits=_limits(limit_a, legs, state),
        session=None,
        headline=Phrase("An example."),
    )


def _values(feeds: Feeds) -> dict[str, float]:
    def total(sources: tuple[str, ...], sinks: tuple[str, ...]) -> float:
        return sum(watts for (source, sink), watts in feeds.items() if source in sources and sink in sinks)

    every, ends = tuple(SOURCES), tuple(SINKS)
    charging = total(_AC_SOURCES, ("battery", "dc_load"))
    inverting = total(_DC_SOURCES, ("load", "grid"))
    from_ac, from_dc = total(_AC_SOURCES, ("losses",)), total(_DC_SOURCES, ("losses",))
    return {
        "generator": total(("generator",), ends),
        "grid": total(("grid",), ends) - total(every, ("grid",)),
        "solar_ac": total(("solar_ac",), ends),
        "solar": total(("solar",), ends),
        "load": total(every, ("load",)),
        "dc_load": total(every, ("dc_load",)),
        "battery": total(every, ("battery",)) - total(("battery",), ends),
        "loss": total(every, ("losses",)),
        "converter_ac": charging - inverting + from_ac,
        "converter_dc": charging - inverting - from_dc,
    }


def _stream(
    name: str,
    value: float,
    has: set[str],
    unknown: tuple[str, ...],
    knowledge: dict[str, Knowledge],
    rated: dict[str, float],
) -> StreamNow:
    if name not in has:
        return StreamNow(name, "absent", 0.0, 0.0, NAN, None)
    if name in unknown:
        return StreamNow(name, "unknown", NAN, NAN, NAN, rated[name])
    return StreamNow(name, knowledge.get(name, "checked"), value, 20.0, value, rated[name], name == "loss")


def _generator(watts: float, limit_a: float | None, legs: tuple[float, ...]) -> GeneratorNow:
    count, volts = max(len(legs), 1), 120.0 if legs else 230.0
    return GeneratorNow(
        running=watts > 0,
        voltage=volts,
        current=max(legs) if legs else watts / volts,
        frequency=49.2 if watts > 0 else 0.0,
        leg_voltages=(volts,) * len(legs),
        leg_currents=legs,
        limit_a=limit_a,
        limit_w=None if limit_a is None else limit_a * volts * count,
        limit_assumed=False,
        legs_unequal=len(legs) > 1,
    )


def _limits(limit_a: float | None, legs: tuple[float, ...], state: LimitState) -> tuple[LimitNow, ...]:
    if limit_a is None:
        return ()
    found = []
    for leg, amperes in enumerate(legs or (NAN,), start=1):
        key = f"input_current_l{leg}" if legs else "input_current"
        own: LimitState = state if not legs else ("over" if amperes > limit_a else "ok")
        found.append(LimitNow(key, Phrase("Input current"), amperes, None, limit_a, 0.0, 40.0, "A", own))
    return tuple(found)


def _charging(sun: float = 810.0) -> Feeds:
    return {
        ("generator", "load"): 1350.0,
        ("generator", "battery"): 3500.0,
        ("generator", "losses"): 320.0,
        ("solar", "battery"): sun,
    }


def examples() -> dict[str, Moment]:
    """Every state by name."""
    over: Feeds = {
        ("generator", "load"): 2310.0,
        ("generator", "battery"): 3570.0,
        ("generator", "losses"): 350.0,
        ("solar", "battery"): 810.0,
    }
    night: Feeds = {("battery", "load"): 640.0, ("battery", "losses"): 60.0}
    day: Feeds = {
        ("solar", "load"): 900.0,
        ("solar", "losses"): 70.0,
        ("solar", "battery"): 2300.0,
        ("solar", "dc_load"): 240.0,
    }
    mixed: Feeds = {
        ("generator", "load"): 1800.0,
        ("generator", "battery"): 2200.0,
        ("generator", "dc_load"): 200.0,
        ("generator", "losses"): 210.0,
        ("solar_ac", "load"): 600.0,
        ("solar_ac", "battery"): 730.0,
        ("solar_ac", "dc_load"): 66.0,
        ("solar_ac", "losses"): 70.0,
        ("solar", "battery"): 1500.0,
        ("solar", "dc_load"): 140.0,
    }
    export: Feeds = {
        ("solar_ac", "load"): 700.0,
        ("solar_ac", "grid"): 1600.0,
        ("solar", "load"): 500.0,
        ("solar", "grid"): 1100.0,
        ("solar", "losses"): 130.0,
        ("solar", "battery"): 1400.0,
    }
    split: Feeds = {
        ("generator", "load"): 2900.0,
        ("generator", "battery"): 1900.0,
        ("generator", "losses"): 200.0,
    }
    everything = ("grid", "generator", "solar_ac", "solar", "dc_load")
    missing = (GapNow("ac", 620.0, 90.0, True), GapNow("dc", -410.0, 70.0, True))
    quiet = (GapNow("ac", -20.0, 110.0, False), GapNow("dc", 12.0, 80.0, False))
    return {
        "charging": example(_charging(), gaps=quiet),
        "over-limit": example(over, state="over", soc=61.0, gaps=quiet),
        "night": example(night, soc=34.0, gaps=quiet),
        "sunny": example(day, plant=("generator", "solar", "dc_load"), soc=88.0, gaps=quiet),
        "everything": example(mixed, plant=everything, soc=47.0, limit_a=28.0, gaps=quiet),
        "export": example(export, plant=("grid", "solar_ac", "solar"), limit_a=None, soc=96.0, gaps=quiet),
        "import": example(
            {("grid", "load"): 2400.0, ("grid", "battery"): 900.0, ("grid", "losses"): 120.0},
            plant=("grid", "generator"),
            soc=22.0,
        ),
        "split-phase": example(split, plant=("generator",), legs=(31.5, 10.2), limit_a=30.0),
        "unaccounted": example(_charging(), plant=("generator", "solar", "dc_load"), gaps=missing),
        "unaccounted-both": example(
            _charging(0.0),
            plant=("generator",),
            unknown=("converter_ac", "converter_dc", "loss"),
            gaps=(GapNow("both", 540.0, 120.0, True),),
        ),
        "unknown": example(_charging(), unknown=("solar", "load", "loss"), soc=NAN),
        "worked-out": example(_charging(), knowledge={"load": "computed", "solar": "measured"}, gaps=quiet),
        "standing-still": example({("battery", "losses"): 8.0}, soc=74.0, gaps=quiet),
        "stale": example(_charging(), stale=True),
        "empty": replace(
            example({}, unknown=tuple(STREAMS), soc=NAN, stale=True, row=-1),
            battery=BatteryNow(NAN, NAN, NAN, NAN, 80.0, 20.0),
        ),
        "no-generator": example(
            {("solar", "load"): 600.0, ("solar", "losses"): 60.0, ("solar", "battery"): 1900.0},
            plant=("solar",),
            limit_a=None,
            soc=15.0,
        ),
    }
