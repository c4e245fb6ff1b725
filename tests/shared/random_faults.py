"""Faults at random that a plant's meters could have."""

from __future__ import annotations

import random

from meter_faults import KINDS, MeterFault

from drivers.plant.scenario import Scenario
from recordings.channels import POWERS

_FINE_S = 30.0
"""Meters come late by seconds or minutes: rows further apart than this don't show it."""

_FACTORS = (10.0, 1000.0, 0.1, 0.001, 0.5, 2.0)


def random_faults(scenario: Scenario, channels: tuple[str, ...], seed: int, count: int) -> list[MeterFault]:
    """So many faults of different kinds of the meters of powers that a recording has."""
    draw = random.Random(f"faults {seed}")
    metered = [name for name in channels if name in POWERS]
    faults: list[MeterFault] = []
    kinds = list(KINDS)
    while len(faults) < count and kinds:
        kind = draw.choice(kinds)
        kinds.remove(kind)
        fault = _fault(draw, scenario, metered, kind)
        if fault is not None:
            faults.append(fault)
    return faults


def _fault(draw: random.Random, scenario: Scenario, metered: list[str], kind: str) -> MeterFault | None:
    channel = draw.choice(metered)
    rated = scenario.generator.rated_w if scenario.generator else 5000.0
    match kind:
        case "scale":
            odd = draw.choice((draw.uniform(1.15, 1.8), draw.uniform(0.55, 0.85)))
            return MeterFault(kind, channel, draw.choice(_FACTORS) if draw.random() < 0.55 else round(odd, 3))
        case "offset":
            size = rated * draw.uniform(0.02, 0.25) * draw.choice((-1, 1))
            return MeterFault(kind, channel, round(size))
        case "stuck":
            part = draw.random() < 0.6
            since = round(draw.uniform(0.1, 0.5), 2) if part else 0.0
            until = round(draw.uniform(since + 0.25, 1.0), 2) if part and draw.random() < 0.5 else 1.0
            return MeterFault(kind, channel, since=since, until=until)
        case "one_leg":
            legged = [name for name in metered if name in ("load_power", "generator_power")]
            return MeterFault(kind, draw.choice(legged)) if scenario.legs > 1 and legged else None
        case "swapped":
            if len(metered) < 3:
                return None
            other = draw.choice([name for name in metered if name != channel])
            return MeterFault(kind, channel, other=other)
        case "lag":
            late_s = max(draw.uniform(20.0, 160.0), 2.0 * scenario.log.interval_s)
            return MeterFault(kind, channel, round(late_s)) if scenario.log.interval_s <= _FINE_S else None
        case "unmetered_load":
            if "dc_load_power" in metered and draw.random() < 0.6:
                return MeterFault(kind, "dc_load_power")
            base = sum(scenario.house.base_w)
            return MeterFault(kind, "load_power", round(0.6 * base)) if "load_power" in metered else None
        case "unmetered_source":
            suns = [name for name in metered if name.startswith("solar")]
            return MeterFault(kind, draw.choice(suns)) if suns and len(metered) > 2 else None
    return MeterFault(kind, channel)
