"""Simulated plants with random batteries: does the interval hold what the battery really gives?"""

from __future__ import annotations

import numpy as np
import pytest
from battery_help import judged

from desktop.site import Site
from drivers.plant.bank import bank
from drivers.plant.scenario import Scenario
from drivers.plant.simulation import simulate

_CHEMISTRIES = {"lfp": 51.2, "nmc": 51.8, "flooded": 48.0, "agm": 48.0, "gel": 48.0}


def _scenario(chance, chemistry, hours):
    kwh = round(float(np.exp(chance.uniform(np.log(5), np.log(20)))), 1)
    volts, lead = _CHEMISTRIES[chemistry], chemistry in ("flooded", "agm", "gel")
    base = 1000 * kwh * chance.uniform(0.04, 0.08)
    amperes = 1000 * kwh / volts * (chance.uniform(0.12, 0.2) if lead else chance.uniform(0.25, 0.4))
    rated = volts * amperes * 1.25 + base + 1500
    return base, Scenario.of(
        {
            "place": {"name": "Plant", "start": "2025-03-01T06:00:00", "hours": hours},
            "log": {
                "interval_s": 20.0,
                "channels": [
                    "generator_power",
                    "load_power",
                    "battery_power",
                    "battery_voltage",
                    "battery_soc",
                ],
            },
            "generator": {"rated_w": rated, "fuel_half_load": 1.5, "fuel_full_load": 2.5},
            "input": {"limit_a": rated * 0.95 / 230},
            "charger": {"limit_a": amperes, "rated_w": volts * amperes * 1.3},
            "inverter": {"rated_w": rated},
            "battery": {"chemistry": chemistry, "capacity_kwh": kwh, "nominal_v": volts, "soc": 75.0},
            "house": {"base_w": [base]},
            "random": [{"name": "kettle", "watts": 1800, "per_day": 14, "run_s": 200}],
            "auto": {"start_soc": 50 if lead else 30, "stop_soc": 85},
            "meters": {
                "battery_soc": {"quantum": float(chance.choice([0.1, 0.5, 1.0]))},
                "battery_power": {"percent": 2.0, "floor": 8},
            },
        }
    )


def _delivers_kwh(scenario, watts):
    """By emptying the same battery at this power."""
    battery, wh, dt = bank(scenario.battery.model_copy(update={"soc": 100.0})), 0.0, 20.0
    while battery.soc > 0.0:
        battery.take(-watts, dt)
        wh += watts * dt / 3600
    return wh / 1000


def _judged(seed, chemistry, hours=24.0):
    chance = np.random.default_rng(seed)
    base, scenario = _scenario(chance, chemistry, hours)
    made = simulate(scenario, seed)
    facts = judged(made.recording, Site.parse(made.site_toml))
    held = facts.capacity_wh.low <= 1000 * _delivers_kwh(scenario, 1.2 * base + 200) <= facts.capacity_wh.high
    return facts, held, bank(scenario.battery).ohm


@pytest.mark.parametrize("chemistry", ["lfp", "flooded"])
def test_a_plant(chemistry):
    facts, held, ohm = _judged(901, chemistry, hours=18.0)
    assert held
    assert facts.half_cycles >= 3
    assert (facts.capacity_wh.high - facts.capacity_wh.low) / 2 < 0.1 * facts.capacity_wh.value
    assert facts.resistance is not None
    assert abs(facts.resistance.ohm - ohm) <= 3 * facts.resistance.sd


@pytest.mark.slow
def test_many_plants():
    held, narrow = [], []
    for number in range(25):
        facts, inside, _ = _judged(7000 + number, list(_CHEMISTRIES)[number % 5])
        held.append(inside)
        if facts.half_cycles >= 3:
            narrow.append(
                (facts.capacity_wh.high - facts.capacity_wh.low) / 2 < 0.1 * facts.capacity_wh.value
            )
    assert np.mean(held) >= 0.95
    assert len(narrow) >= 15
    assert all(narrow)
