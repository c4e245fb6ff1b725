"""Plants and days to reckon with in tests."""

from __future__ import annotations

import numpy as np

from desktop.charging.fuel.curve import FuelCurve
from desktop.charging.outlook.days import Days
from desktop.charging.outlook.plant import ConverterFacts, GeneratorFacts, PlantFacts, Storage
from desktop.charging.outlook.rule import SLOTS

HOURS = (np.arange(SLOTS) + 0.5) * 24 / SLOTS


def curve(idle=0.5, per_kwh=0.29, sd=0.0):
    return FuelCurve(idle, per_kwh, sd, "L", 5500.0, "data sheet")


def storage(**changes):
    usual = {
        "capacity_wh": 10_000.0,
        "reserve_soc": 20.0,
        "charge_w": 5000.0,
        "efficiency": 0.95,
        "efficiency_full": 0.95,
        "taper_soc": 95.0,
    }
    return Storage(**(usual | changes))


def plant(store=float("inf"), battery=None, converter=None, generator=None):
    usual = {"rated_w": 5500.0, "curve": curve(), "w_per_a": 230.0, "unloaded_s": 180.0, "store": store}
    return PlantFacts(
        battery or storage(),
        converter or ConverterFacts(35.0, 0.06, 4000.0, 4500.0, 4000.0),
        GeneratorFacts(**(usual | (generator or {}))),
    )


def days(load, *, dc_load=0.0, sun_dc=0.0, sun_ac=0.0, count=1, date=None, **more):
    """Days of arrays that broadcast to (count, SLOTS)."""
    spread = [
        np.broadcast_to(np.asarray(one, float), (count, SLOTS)) for one in (load, dc_load, sun_dc, sun_ac)
    ]
    first = np.arange(count, dtype=np.int64) + 20_000 if date is None else np.asarray(date, np.int64)
    return Days(*spread, first, np.ones(count), **more)


def varied_days(count=6, seed=5, sun=2500.0, ac=0.0, dc_load=0.0):
    """A household: a base, cooking in the evening, sun of changing brightness."""
    chance = np.random.default_rng(seed)
    load = 150 + 500 * chance.random((count, SLOTS)) + 700 * (np.abs(HOURS - 19) < 1.5)
    shape = np.clip(np.sin((HOURS - 7) / 10 * np.pi), 0, None) * (np.abs(HOURS - 12) < 5)
    bright = chance.uniform(0.05, 1.0, (count, 1))
    return days(load, dc_load=dc_load, sun_dc=sun * bright * shape, sun_ac=ac * bright * shape, count=count)
