"""Houses at random: what always runs, what cycles, what is switched on by the clock or now and then."""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

Table = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Bus:
    """The AC bus that a house hangs on: the generator's rating W, volts leg to neutral, legs."""

    rated_w: float
    volts: float
    legs: int


_CYCLIC = (("fridge", 120, 650, 1300), ("freezer", 150, 700, 1100), ("heat pump", 1500, 900, 800))
_CYCLIC_SMALL = (("milk cooler", 400, 420, 800), ("well pump", 900, 60, 1300), ("heating pump", 70, 900, 600))
_RANDOM = (("kettle", 2000, 170), ("microwave", 1200, 180), ("water pump", 750, 50), ("toaster", 900, 150))
_SCHEDULED = (
    ("oven", 2300, 2400),
    ("room heater", 1500, 4200),
    ("saw", 1700, 260),
    ("washing machine", 1900, 3000),
)
_WASH = [[120, 0.1], [780, 1.0], [1500, 0.12], [600, 0.25]]


def house_of(draw: random.Random, bus: Bus, begin: datetime, hours: float) -> Table:
    """The sections house, cyclic, scheduled and random, sized by the generator."""
    base = bus.rated_w * draw.uniform(0.02, 0.10)
    shares = [draw.uniform(0.3, 1.0) for _ in range(bus.legs)]
    size = draw.uniform(0.5, 1.2) * min(1.0, bus.rated_w / bus.legs / 5000)
    house: Table = {
        "house": {
            "legs": bus.legs,
            "base_w": [round(base * share / sum(shares), 1) for share in shares],
            "flicker": round(draw.uniform(0.01, 0.12), 3),
            "resistive": round(draw.uniform(0.2, 0.8), 2),
        },
        "cyclic": [
            _appliance(draw, bus, name, watts * size)
            | {"on_s": round(on * draw.uniform(0.7, 1.4)), "off_s": round(off * draw.uniform(0.7, 1.6))}
            for name, watts, on, off in draw.sample((*_CYCLIC, *_CYCLIC_SMALL), draw.randrange(1, 4))
        ],
        "random": [
            _appliance(draw, bus, name, watts * size)
            | {"per_day": draw.randrange(4, 30), "run_s": round(run * draw.uniform(0.6, 1.6))}
            for name, watts, run in draw.sample(_RANDOM, draw.randrange(0, 3))
        ],
        "scheduled": [
            _appliance(draw, bus, name, watts * size) | _times(draw, name, run, begin, hours)
            for name, watts, run in draw.sample(_SCHEDULED, draw.randrange(0, 3))
        ],
    }
    return house


def _appliance(draw: random.Random, bus: Bus, name: str, watts: float) -> Table:
    motor = name in ("fridge", "freezer", "heat pump", "well pump", "water pump", "saw", "milk cooler")
    return {
        "name": name,
        "watts": max(20, round(watts * draw.uniform(0.7, 1.2))),
        "leg": draw.randrange(0, bus.legs + 1) if bus.legs > 1 else 1,
        "inrush": round(draw.uniform(1.5, 4.0), 1) if motor else 1.0,
    }


def _times(draw: random.Random, name: str, run_s: float, begin: datetime, hours: float) -> Table:
    count = max(1, min(4, round(hours / 4)))
    starts = [begin + timedelta(seconds=round(draw.uniform(0.05, 0.9) * hours * 3600)) for _ in range(count)]
    table: Table = {"at": sorted({start.time().isoformat() for start in starts})}
    table["run_s"] = round(run_s * draw.uniform(0.6, 1.4))
    if name == "washing machine":
        table["profile"] = _WASH
    return table
