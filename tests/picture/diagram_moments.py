"""Random moments of every kind of plant, and a plain measure of text."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from desktop.flow.streams import STREAMS
from desktop.picture.diagram.examples import example
from desktop.picture.diagram.shapes import Measure
from desktop.review.moment import BatteryNow, GapNow, Moment

EXTRAS = ("grid", "generator", "solar_ac", "solar", "dc_load")

SIZES = ((560, 360), (640, 400), (700, 620), (920, 440), (1100, 380), (1280, 720), (1440, 900), (2600, 1500))

TEXT_SCALES = (1.0, 1.5, 2.0)


def plain_measure(scale: float) -> Measure:
    """Letters of one width, about as wide as those of a common sans serif of 13 px."""

    def measure(text: str, size: float, bold: bool) -> tuple[float, float]:
        em = 13 * scale * size
        return len(text) * em * (0.66 if bold else 0.6), 1.25 * em

    return measure


def random_moment(seed: int) -> Moment:
    """A moment whose powers balance. Every fourth has unknown streams, every third unaccounted power."""
    rng = np.random.default_rng(seed)
    plant = tuple(name for name in EXTRAS if rng.random() < 0.6)
    unknown = tuple(name for name in STREAMS if rng.random() < 0.3) if seed % 4 == 0 else ()
    legs = tuple(rng.uniform(0, 45, size=int(rng.integers(2, 4)))) if rng.random() < 0.3 else ()
    rated = {name: float(10 ** rng.uniform(2.7, 4.5)) for name in STREAMS}
    moment = example(
        _feeds(rng, plant),
        plant=plant,
        unknown=unknown,
        knowledge={name: "computed" for name in plant if rng.random() < 0.2},
        rated=rated,
        soc=float(rng.choice([math.nan, 0.0, 100.0, rng.uniform(0, 100)])),
        limit_a=float(rng.uniform(5, 80)) if rng.random() < 0.7 else None,
        legs=legs if "generator" in plant else (),
        state="over" if rng.random() < 0.3 else "ok",
        gaps=_gaps(rng) if seed % 3 == 0 else (GapNow("ac", -12.0, 60.0, False),),
        stale=bool(rng.random() < 0.1),
    )
    marks = BatteryNow(53.1, 12.0, moment.battery.soc, 18.0, rng.uniform(30, 100), rng.uniform(0, 60))
    return replace(moment, battery=marks)


def _feeds(rng: np.random.Generator, plant: tuple[str, ...]) -> dict[tuple[str, str], float]:
    """Powers that a plant can have: no battery or grid takes and gives at once, no converter goes both ways."""
    size = 10 ** rng.uniform(0, 4.3)
    charging = rng.random() < 0.5
    ac, dc = (
        [name for name in ("generator", "grid", "solar_ac") if name in plant],
        ["solar"] * ("solar" in plant),
    )
    exporting = "grid" in plant and rng.random() < 0.4
    if exporting:
        ac.remove("grid")
    if not charging and rng.random() < 0.6:
        dc.append("battery")
    sinks_dc = [*(["battery"] if "battery" not in dc else []), *(["dc_load"] if "dc_load" in plant else [])]
    sinks_ac = ["load", *(["grid"] if exporting else [])]
    pairs = [(s, k) for s in ac for k in sinks_ac] + [(s, k) for s in dc for k in sinks_dc]
    crossing = [(s, k) for s in ac for k in sinks_dc] if charging else [(s, k) for s in dc for k in sinks_ac]
    feeds = {pair: float(size * rng.random()) for pair in (*pairs, *crossing) if rng.random() < 0.8}
    for source in {s for s, k in feeds if (s, k) in crossing}:
        feeds[source, "losses"] = float(0.1 * size * rng.random())
    return feeds


def _gaps(rng: np.random.Generator) -> tuple[GapNow, ...]:
    places = ("both",) if rng.random() < 0.3 else ("ac", "dc")
    sizes = 10 ** rng.uniform(1.5, 4, size=2) * rng.choice([-1, 1], size=2)
    return tuple(
        GapNow(place, size, abs(size) / 5, True) for place, size in zip(places, sizes.tolist(), strict=False)
    )


def same_plant_other_powers(moment: Moment, factor: float) -> Moment:
    """The moment with every power multiplied."""
    streams = {name: replace(one, value=one.value * factor) for name, one in moment.streams.items()}
    return replace(moment, streams=streams, table=moment.table * factor)
