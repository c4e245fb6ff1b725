"""Random small plants whose generator is overloaded, runs dry or is stopped as it should be."""

from __future__ import annotations

import random

from desktop.charging.stops import Halt, Stops
from desktop.flow.learned import learn
from desktop.flow.worker import Worker
from desktop.site import Site
from drivers.plant.scenario import Scenario
from drivers.plant.simulation import Simulation, simulate
from recordings.recording import Recording

TRUTHS = {
    "overload_trip": "overload",
    "underspeed_trip": "overload",
    "out_of_fuel": "dry tank",
    "cool_down": "normal",
}


def scenario(kind: str, seed: int) -> Scenario:
    chance = random.Random(f"{kind} {seed}")
    legs = chance.choice([1, 1, 2, 3])
    volts, hz = (120, 60) if legs == 2 else (230, 50)
    rated = chance.choice([2000, 3500, 5000, 7000, 10_000])
    minute = chance.uniform(9, 14)
    share, charger = chance.uniform(0.55, 0.9), chance.uniform(0.3, 0.8) * rated
    appliance, order, percent = "", "", 70.0
    full = rated / 1000 * chance.uniform(0.28, 0.38)
    at = f"10:{int(minute):02d}:{int(minute % 1 * 60):02d}"
    if kind == "overload":
        share, charger = chance.uniform(1.05, 1.5), chance.uniform(0.7, 1.4) * rated
        watts = chance.uniform(0.3, 1.2) * rated
        leg = 1 if legs == 1 else chance.choice([0, 1])
        appliance = f"""
        [[scheduled]]
        name = "heater"
        watts = {watts}
        leg = {leg}
        at = [{at}]
        run_s = 1500
        """
    elif kind == "dry tank":
        percent = 100 * full * chance.uniform(0.4, 0.55) * (minute - 2) / 60 / 20
    else:
        order = f'[[order]]\nat = {at}\ndo = "stop"'
    return Scenario.parse(
        f"""
        seed = {seed}
        [place]
        name = "Hut"
        start = 2025-02-11T10:00:00
        hours = 0.45
        [generator]
        rated_w = {rated}
        volts = {volts}
        hz = {hz}
        droop = {chance.uniform(0.02, 0.06)}
        capability = {chance.uniform(1.05, 1.3)}
        trip_s = {chance.uniform(0.08, 0.3)}
        cool_down_s = {chance.choice([30, 60, 120])}
        fuel_half_load = {full * 0.6}
        fuel_full_load = {full}
        tank = 20
        tank_percent = {percent}
        [input]
        limit_a = {rated / volts / legs * share}
        [charger]
        limit_a = 400
        rated_w = {charger}
        back_off_s = {chance.uniform(1, 10)}
        [inverter]
        rated_w = {rated * 1.5}
        [battery]
        capacity_kwh = {rated / 400}
        soc = 40
        max_charge_a = 400
        [house]
        legs = {legs}
        base_w = [{rated * chance.uniform(0.05, 0.15)}]
        [[order]]
        at = 10:02:00
        do = "start"
        {appliance}
        {order}
        """
    )


def ended(
    simulation: Simulation, *, without: tuple[str, ...] = (), every: int = 1, first: int = 0
) -> tuple[str, Halt | None]:
    """How a simulation really ended, and the stop that is found in every nth row without some channels."""
    event = next((one for one in simulation.events if one.kind in TRUTHS), None)
    if event is None:
        return "", None
    rows = slice(first, None, every)
    recording = simulation.recording
    kept = {
        name: recording.column(name)[rows]
        for name in recording.channels
        if not name.startswith(without or ("-",))
    }
    log = Recording.from_columns(recording.time[rows].copy(), kept)
    site = Site.parse(simulation.site_toml)
    learned = learn(log, site)
    stops = Stops(learned, site)
    stops.extend(Worker(learned, site).work(log, 0, len(log)))
    near = sorted(stops.halts, key=lambda halt: abs(halt.loaded - event.time))
    return TRUTHS[event.kind], near[0] if near else None


def simulated(kinds: tuple[str, ...], seeds: range) -> list[Simulation]:
    return [simulate(scenario(kind, seed)) for kind in kinds for seed in seeds]


def as_told(halt: Halt | None) -> str:
    if halt is None:
        return "none"
    return halt.reason or halt.kind
