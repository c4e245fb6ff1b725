"""A simulated plant over weeks, in steps that are coarse while the generator stands: for what needs days."""

from __future__ import annotations

import numpy as np

from drivers.plant.plant import Plant
from drivers.plant.scenario import Scenario
from recordings.provenance import Provenance
from recordings.recording import Recording

AT_REST_S = 10.0
RUNNING_S = 1.0

SHEET = """
[site]
name = "Alder Bend"
[generator]
rated_w = 5500
volts = 230
fuel = "diesel"
fuel_half_load = 1.3
fuel_full_load = 2.1
[input]
limit_a = {limit}
[battery]
capacity_kwh = 10.2
"""
"""The site sheet of the same plant, with a limit."""

WEEKS = """
[place]
name = "Alder Bend"
timezone = "Europe/Helsinki"
latitude = 60.2
longitude = 24.9
start = 2025-10-06T00:00:00
hours = 336
[generator]
rated_w = 5500
fuel = "diesel"
fuel_half_load = 1.3
fuel_full_load = 2.1
tank = 400
tank_percent = 100
[input]
limit_a = 20
[charger]
limit_a = 75
rated_w = 4500
[inverter]
rated_w = 4000
idle_w = 35
slope = 0.06
[battery]
capacity_kwh = 10.2
soc = 60
max_charge_a = 100
reserve_soc = 20
[solar]
rated_w = 2400
tilt = 50
cover = 0.8
passing_s = 900
through = [0.05, 0.4]
[house]
base_w = [170]
[[cyclic]]
name = "fridge"
watts = 85
on_s = 700
off_s = 1500
[[random]]
name = "kettle"
watts = 1900
per_day = 6
run_s = 180
since = 06:30:00
until = 21:30:00
[[scheduled]]
name = "evening"
watts = 260
at = [17:00:00]
run_s = 19800
[auto]
start_soc = 25
stop_soc = 80
"""
"""A small household in autumn whose generator is started and stopped by the battery's state of charge."""

METERED = (
    "generator_power",
    "generator_frequency",
    "load_power",
    "solar_power",
    "battery_power",
    "battery_voltage",
    "battery_soc",
)


def weeks(toml: str, days: float, seed: int, interval_s: float = 60.0) -> tuple[Scenario, Recording]:
    """The plant's true values at an interval, as a recording of METERED channels."""
    scenario = Scenario.parse(toml)
    plant = Plant(scenario, seed)
    times, rows, due = [], [], 0.0
    while plant.now < days * 86_400:
        truth = plant.step(RUNNING_S if plant.generator_turning else AT_REST_S)
        if plant.now >= due:
            due += interval_s
            times.append(plant.time)
            rows.append([truth[name] for name in METERED])
    columns = dict(zip(METERED, np.array(rows).T, strict=True))
    named = Provenance(name=scenario.place.name, timezone=scenario.place.timezone)
    return scenario, Recording.from_columns(np.array(times), columns, named)


def days_until_burnt(toml: str, amount: float, seed: int) -> float:
    """After how many days the plant has burnt this much fuel."""
    plant = Plant(Scenario.parse(toml), seed)
    while plant.generator.tank.burnt < amount:
        plant.step(RUNNING_S if plant.generator_turning else AT_REST_S)
    return plant.now / 86_400
