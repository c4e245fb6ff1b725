"""Plants at random: generators, batteries, houses and meter sets of all kinds, as scenarios to simulate."""

from __future__ import annotations

import math
import random
from datetime import datetime, timedelta
from typing import Any, Literal

from random_houses import Bus, house_of
from random_meters import log_of, meters_of

from drivers.plant.scenario import Scenario

Ending = Literal["normal", "no cool-down", "overload", "dry tank", "killed", "running"]
"""How the run ends: let down, stopped without running on, tripped, starved, switched off, or not at all."""

Table = dict[str, Any]

_ZONES = (
    ("Europe/Berlin", 52.0, 11.0),
    ("Europe/Lisbon", 39.0, -8.0),
    ("America/Denver", 39.5, -106.0),
    ("America/Halifax", 45.0, -63.5),
    ("Africa/Nairobi", -1.0, 37.0),
    ("Asia/Kolkata", 17.0, 77.0),
    ("Australia/Hobart", -42.5, 147.0),
    ("Pacific/Auckland", -39.0, 176.0),
)

_PER_KWH = {"diesel": 0.31, "gasoline": 0.44, "propane": 0.60, "natural gas": 0.45}
"""Litres (m³ for natural gas) for a kilowatt hour at full load, roughly as data sheets have it."""

_CHARGE_C = {
    "lfp": (0.25, 0.6),
    "nmc": (0.2, 0.6),
    "flooded": (0.1, 0.22),
    "agm": (0.12, 0.3),
    "gel": (0.1, 0.2),
}


def random_plant(
    seed: int,
    *,
    hours: float | None = None,
    ending: Ending | None = None,
    full_meters: bool = False,
    interval_s: float | None = None,
    chemistry: str | None = None,
    solar: bool | None = None,
) -> Scenario:
    """A plant and what happens to it, deterministic by seed.

    hours        length of the recording; 1 to 8 h at random
    ending       how the first run ends; mostly "normal" at random. Later runs start and stop by state of charge
    full_meters  every power of the plant has a meter
    interval_s   between rows; 1 to 300 s at random
    chemistry    of the battery
    solar        False for none, True for some
    """
    draw = random.Random(f"plant {seed}")
    hours = round(draw.uniform(1.0, 8.0), 2) if hours is None else hours
    ending = ending or draw.choices(("normal", "no cool-down", "running"), (7, 2, 1))[0]
    place, begin = _place(draw, seed, hours)
    generator, bus = _generator(draw, ending)
    battery = _battery(draw, bus, chemistry)
    house = house_of(draw, bus, begin, hours)
    limit_w = _limit_w(draw, bus, ending)
    table: Table = {
        "seed": seed,
        "place": place,
        "log": {},
        "generator": generator,
        "input": {
            "limit_a": round(limit_w / (bus.volts * bus.legs), 1),
            "accept_s": round(draw.uniform(5, 45), 1),
        },
        "charger": _charger(draw, bus, battery, ending),
        "inverter": _inverter(draw, bus),
        "battery": battery,
        **house,
    }
    _sun(draw, table, bus, solar)
    if draw.random() < 0.45:
        table["dc_loads"] = {"base_w": round(draw.uniform(20, 0.05 * bus.rated_w + 60)), "flicker": 0.08}
    _run(draw, table, begin, hours, ending)
    if ending == "overload":
        _too_much(draw, table, bus, begin, hours)
    table["meters"] = meters_of(draw)
    table["log"] = log_of(draw, table, full=full_meters, interval_s=interval_s)
    return Scenario.of(table)


def _place(draw: random.Random, seed: int, hours: float) -> tuple[Table, datetime]:
    zone, latitude, longitude = draw.choice(_ZONES)
    begin = datetime(2025, 1, 8) + timedelta(days=draw.randrange(340), minutes=draw.randrange(24 * 60))
    if hours < 10.0 and draw.random() < 0.7:
        begin = begin.replace(hour=draw.randrange(6, 16))
    place = {
        "name": f"Plant {seed}",
        "timezone": zone,
        "latitude": round(latitude + draw.uniform(-2, 2), 2),
        "longitude": round(longitude + draw.uniform(-2, 2), 2),
        "start": begin.isoformat(),
        "hours": hours,
    }
    return place, begin


def _generator(draw: random.Random, ending: Ending) -> tuple[Table, Bus]:
    rated = round(math.exp(draw.uniform(math.log(2000), math.log(20000))), -2)
    volts, hz, legs = draw.choice(
        (
            (230.0, 50.0, 1),
            (230.0, 50.0, 1),
            (230.0, 50.0, 3),
            (120.0, 60.0, 1),
            (120.0, 60.0, 2),
            (120.0, 60.0, 3),
        )
    )
    fuel = draw.choices(tuple(_PER_KWH), (5, 3, 3, 1))[0]
    full = rated / 1000 * _PER_KWH[fuel] * draw.uniform(0.85, 1.25)
    droop = draw.uniform(0.01, 0.05)
    table = {
        "rated_w": rated,
        "volts": volts,
        "hz": hz,
        "droop": round(droop, 4),
        "no_load_hz": round(hz * (1 + droop * draw.uniform(0.5, 1.0)), 2),
        "voltage_drop": round(draw.uniform(0.005, 0.04), 4),
        "capability": round(draw.uniform(1.05, 1.4), 3),
        "trip_s": round(draw.uniform(0.1, 0.4), 3),
        "cold_dip": round(draw.uniform(0.0, 0.02), 4),
        "warm_up_s": round(draw.uniform(40, 180)),
        "cool_down_s": 0.0 if ending == "no cool-down" else round(draw.uniform(30, 240)),
        "fuel": fuel,
        "fuel_half_load": round(full * draw.uniform(0.56, 0.70), 3),
        "fuel_full_load": round(full, 3),
    }
    return table, Bus(rated, volts, legs)


def _battery(draw: random.Random, bus: Bus, chemistry: str | None) -> Table:
    chemistry = chemistry or draw.choices(("lfp", "nmc", "flooded", "agm", "gel"), (5, 2, 2, 2, 1))[0]
    kwh = round(
        min(40.0, max(2.0, bus.rated_w / 1000 * math.exp(draw.uniform(math.log(0.7), math.log(4.5))))), 1
    )
    nominal = draw.choice((12.0, 24.0) if kwh < 6 else (24.0, 48.0) if kwh < 10 else (48.0,))
    if chemistry == "lfp":
        nominal = {12.0: 12.8, 24.0: 25.6, 48.0: 51.2}[nominal]
    elif chemistry == "nmc":
        nominal = {12.0: 11.1, 24.0: 25.9, 48.0: 48.1}[nominal]
    c_rate = draw.uniform(*_CHARGE_C[chemistry])
    return {
        "chemistry": chemistry,
        "capacity_kwh": kwh,
        "nominal_v": nominal,
        "soc": round(draw.uniform(18, 75), 1),
        "max_charge_a": round(c_rate * kwh * 1000 / nominal, 1),
        "air_c": round(draw.uniform(3, 32), 1),
        "reserve_soc": draw.choice((10, 15, 20, 30)),
        "target_soc": draw.choice((70, 80, 85, 90)),
    }


def _limit_w(draw: random.Random, bus: Bus, ending: Ending) -> float:
    share = draw.uniform(1.2, 1.8) if ending == "overload" else draw.uniform(0.6, 0.92)
    return bus.rated_w * share


def _charger(draw: random.Random, bus: Bus, battery: Table, ending: Ending) -> Table:
    rated = bus.rated_w * (draw.uniform(1.0, 1.3) if ending == "overload" else draw.uniform(0.5, 1.0))
    most = battery["max_charge_a"]
    slow = ending == "overload" or draw.random() < 0.15
    return {
        "rated_w": round(rated, -1),
        "limit_a": round(most * draw.uniform(0.6, 1.1), 1),
        "back_off_s": round(draw.uniform(2, 10) if slow else draw.choice((0.0, 0.0, 0.5, 1.0)), 1),
        "margin_a": round(draw.uniform(0.3, 1.5), 2),
        "ramp_up_w_s": round(draw.uniform(0.008, 0.03) * bus.rated_w),
        "ramp_down_w_s": round(
            draw.uniform(0.05, 0.12) * bus.rated_w if slow else draw.uniform(0.3, 1.5) * bus.rated_w
        ),
        "assist": ending != "overload" and draw.random() < 0.2,
    }


def _inverter(draw: random.Random, bus: Bus) -> Table:
    return {
        "rated_w": round(bus.rated_w * draw.uniform(0.9, 1.4), -2),
        "idle_w": round(draw.uniform(15, 20 + 0.006 * bus.rated_w)),
        "slope": round(draw.uniform(0.03, 0.09), 4),
    }


def _sun(draw: random.Random, table: Table, bus: Bus, solar: bool | None) -> None:
    kind = draw.choices(("none", "dc", "ac"), (3, 5, 2))[0]
    if solar is not None and solar != (kind != "none"):
        kind = "dc" if solar else "none"
    if kind == "none":
        return
    latitude = table["place"]["latitude"]
    table["solar"] = {
        "rated_w": round(bus.rated_w * draw.uniform(0.15, 1.0), -1),
        "coupling": kind,
        "tilt": round(draw.uniform(10, 60)),
        "azimuth": round(((180 if latitude > 0 else 0) + draw.uniform(-60, 60)) % 360),
        "cover": round(draw.choice((0.0, draw.uniform(0.1, 0.9), 1.0)), 2),
        "passing_s": round(draw.uniform(60, 1200)),
        "through": [round(draw.uniform(0.05, 0.25), 2), round(draw.uniform(0.3, 0.7), 2)],
    }


def _run(draw: random.Random, table: Table, begin: datetime, hours: float, ending: Ending) -> None:
    generator = table["generator"]
    start_s = draw.uniform(120, min(1500, 600 * hours))
    rest_s = hours * 3600 - start_s
    stop_s = start_s + draw.uniform(0.35, 0.85) * rest_s
    orders = [_order(begin, start_s, "start")]
    if ending in ("normal", "no cool-down"):
        orders.append(_order(begin, stop_s, "stop"))
    elif ending == "killed":
        orders.append(_order(begin, stop_s, "kill"))
    burns = generator["fuel_full_load"] * hours
    generator["tank"] = round(max(5.0, burns * draw.uniform(1.5, 4.0)), 1)
    generator["tank_percent"] = round(draw.uniform(70, 100), 1)
    if ending == "dry tank":
        burnt = generator["fuel_half_load"] * (stop_s - start_s) / 3600
        generator["tank_percent"] = round(100 * burnt * draw.uniform(0.6, 0.95) / generator["tank"], 2)
    table["order"] = orders
    if ending in ("normal", "no cool-down") and hours > 10:
        low = table["battery"]["reserve_soc"] + draw.uniform(2, 10)
        table["auto"] = {"start_soc": round(low), "stop_soc": round(draw.uniform(low + 25, 95))}


def _too_much(draw: random.Random, table: Table, bus: Bus, begin: datetime, hours: float) -> None:
    """A battery that takes all it can get, and a heater on top of it while the set runs."""
    battery, charger = table["battery"], table["charger"]
    amperes = bus.rated_w * draw.uniform(0.85, 1.2) / battery["nominal_v"]
    battery["soc"] = min(battery["soc"], 45)
    charger["limit_a"] = round(amperes, 1)
    battery["max_charge_a"] = round(max(battery["max_charge_a"], amperes), 1)
    battery["capacity_kwh"] = max(battery["capacity_kwh"], round(bus.rated_w / 1000, 1))
    at = begin + timedelta(seconds=draw.uniform(0.3, 0.6) * hours * 3600)
    table["scheduled"].append(
        {
            "name": "big heater",
            "watts": round(bus.rated_w * draw.uniform(0.25, 0.7)),
            "leg": 0 if bus.legs > 1 else 1,
            "at": [at.time().isoformat("seconds")],
            "run_s": round(draw.uniform(300, 2400)),
        }
    )


def _order(begin: datetime, seconds: float, deed: str) -> Table:
    at = begin + timedelta(seconds=round(seconds))
    return {"at": at.time().isoformat(), "day": (at.date() - begin.date()).days + 1, "do": deed}
