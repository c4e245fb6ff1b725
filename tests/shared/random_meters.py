"""Sets of meters at random: which powers are read, how well, how often, in which steps."""

from __future__ import annotations

import random
from typing import Any

Table = dict[str, Any]

_INTERVALS_S = (1.0, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0)
_POWERS = (
    "generator_power",
    "grid_power",
    "load_power",
    "solar_power",
    "solar_ac_power",
    "battery_power",
    "converter_ac_power",
    "converter_dc_power",
    "dc_load_power",
)
_OTHERS = (
    "generator_frequency",
    "battery_voltage",
    "battery_soc",
    "battery_current",
    "battery_temperature",
    "fuel_level",
    "input_limit",
    "charge_limit",
    "charger_enabled",
)


def meters_of(draw: random.Random) -> Table:
    """Classes of the meters: one make for the whole plant, with a better or worse one here and there."""
    percent, floor = draw.choice((0.3, 0.5, 1.0, 1.0, 2.0)), draw.choice((2.0, 5.0, 8.0, 15.0))
    skew = draw.choice((0.0, 0.0, 0.0, 0.5, 1.0, 2.0))
    quantum = draw.choice((1.0, 1.0, 1.0, 10.0, 50.0, 100.0))
    meters: Table = {}
    for name in _POWERS:
        meters[name] = {
            "percent": percent * draw.choice((1.0, 1.0, 1.0, 0.5, 2.0)),
            "floor": floor * draw.choice((1.0, 1.0, 0.5, 2.0)),
            "skew_s": round(skew * draw.random(), 2),
            "quantum": quantum,
        }
    if draw.random() < 0.5:
        meters["battery_soc"] = {"quantum": 1.0}
    return meters


def log_of(draw: random.Random, table: Table, *, full: bool, interval_s: float | None) -> Table:
    """The section log: interval, and channels that the plant has."""
    legs = table["house"]["legs"]
    powers = [name for name in _POWERS if _has(table, name)]
    kept = powers if full or draw.random() < 0.3 else _partial(draw, powers)
    others = [name for name in _OTHERS if draw.random() < (0.8 if name.startswith("battery") else 0.5)]
    if "battery_current" not in others:
        others = [*others, "battery_voltage"]
    suffixes = [""] if legs == 1 else [f"_l{leg}" for leg in range(1, legs + 1)]
    for name in ("generator_voltage", "generator_current"):
        if draw.random() < 0.45:
            others += [name + suffix for suffix in suffixes]
    interval = draw.choice(_INTERVALS_S) if interval_s is None else interval_s
    return {"interval_s": interval, "channels": sorted({*kept, *others})}


def _partial(draw: random.Random, powers: list[str]) -> list[str]:
    """What is left where some meters were never bought: mostly the converter's, at times any other."""
    kept = [name for name in powers if draw.random() < (0.45 if name.startswith("converter") else 0.85)]
    return kept if len(kept) >= 2 else powers


def _has(table: Table, name: str) -> bool:
    if name == "solar_power" or name == "solar_ac_power":
        coupling = table.get("solar", {}).get("coupling")
        return coupling == ("ac" if name == "solar_ac_power" else "dc")
    if name == "dc_load_power":
        return "dc_loads" in table
    return name != "grid_power"
