"""Random plants to try the suspects on, simulated once, and faults that are put into their recordings."""

from __future__ import annotations

import random
from dataclasses import dataclass

import numpy as np
import tomlkit

from desktop.site import Site
from drivers.plant.scenario import Fault, Scenario
from drivers.plant.simulation import simulate
from recordings.channels import CHANNELS
from recordings.recording import Recording

POWERS = (
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


@dataclass(frozen=True)
class PlantRecord:
    """A recording of a healthy plant, the truth, and the site's sheet."""

    recording: Recording
    truth: Recording
    site: Site
    scenario: Scenario
    seed: int


def record(seed: int) -> PlantRecord:
    """The plant of a seed."""
    chance = random.Random(f"suspects {seed}")
    table = _table(chance)
    scenario = Scenario.of(table)
    simulation = simulate(scenario, seed)
    sheet = tomlkit.loads(simulation.site_toml).unwrap()
    return PlantRecord(
        simulation.recording, simulation.truth, Site.of(_partly(sheet, chance)), scenario, seed
    )


def _partly(sheet: dict, chance: random.Random) -> dict:
    """The sheet as people fill it in: whole, without classes of meters, or hardly at all."""
    kind = chance.random()
    if kind < 0.5:
        return sheet
    kept = {name: keys for name, keys in sheet.items() if name != "meters"}
    if kind < 0.8:
        return kept
    return {name: keys for name, keys in kept.items() if name in ("site", "generator", "solar")}


def _table(chance: random.Random) -> dict:
    interval = chance.choice([1.0, 1.0, 2.0, 2.0, 5.0, 10.0, 20.0, 60.0, 300.0])
    if interval >= 60:
        hours = chance.uniform(20, 60)
    elif interval >= 10:
        hours = chance.uniform(3, 24)
    else:
        hours = chance.uniform(0.5, 4)
    legs = chance.choice([1, 1, 1, 2, 3])
    rated = chance.uniform(3000, 12000)
    volts = 120.0 if legs == 2 else 230.0
    start_hour = chance.randint(5, 16)
    month, minute = chance.randint(1, 12), chance.randint(0, 59)
    solar = chance.choice(["dc", "dc", "dc", "ac", ""])
    grid = chance.random() < 0.15
    table: dict = {
        "seed": chance.randint(1, 10**6),
        "place": {
            "name": "A place",
            "timezone": chance.choice(["Europe/Berlin", "America/Denver", "Australia/Hobart"]),
            "start": f"2025-{month:02d}-{chance.randint(1, 27):02d}T{start_hour:02d}:{minute:02d}:00",
            "hours": round(hours, 3),
            "latitude": chance.uniform(35, 58),
            "longitude": 10.0,
        },
        "log": {"interval_s": interval},
        "generator": {
            "rated_w": rated,
            "volts": volts,
            "hz": 60 if volts < 200 else 50,
            "droop": chance.uniform(0.02, 0.05),
            "fuel": "diesel",
            "fuel_half_load": rated / 4500,
            "fuel_full_load": rated / 2700,
            "tank": 200,
        },
        "input": {"limit_a": rated / volts / legs * chance.uniform(0.75, 1.0)},
        "charger": {
            "limit_a": chance.uniform(40, 140),
            "rated_w": rated * chance.uniform(0.5, 0.9),
            "back_off_s": chance.choice([0.0, 0.5, 2.0, 6.0]),
            "margin_a": 1.0,
            "ramp_up_w_s": chance.uniform(40, 200),
            "ramp_down_w_s": chance.uniform(500, 5000),
        },
        "inverter": {
            "rated_w": max(4000.0, rated * 0.8),
            "idle_w": chance.uniform(15, 75),
            "slope": chance.uniform(0.04, 0.1),
        },
        "battery": {
            "chemistry": chance.choice(["lfp", "lfp", "nmc", "flooded", "agm"]),
            "capacity_kwh": chance.uniform(8, 30),
            "nominal_v": chance.choice([24.0, 48.0, 51.2]),
            "soc": chance.uniform(25, 90),
            "max_charge_a": chance.uniform(60, 200),
        },
        "house": {
            "legs": legs,
            "base_w": [chance.uniform(80, 500) for _ in range(legs)],
            "flicker": chance.uniform(0.02, 0.15),
        },
        "cyclic": [
            {
                "name": "fridge",
                "watts": chance.uniform(60, 200),
                "inrush": 4,
                "on_s": chance.uniform(300, 900),
                "off_s": chance.uniform(600, 1800),
                "leg": chance.randint(1, legs),
            }
        ],
        "random": [
            {
                "name": "kettle",
                "watts": chance.uniform(1000, 2200),
                "per_day": chance.uniform(8, 60),
                "run_s": chance.uniform(60, 400),
                "leg": chance.randint(0, legs),
            },
            {
                "name": "pump",
                "watts": chance.uniform(400, 1100),
                "inrush": 2.5,
                "per_day": chance.uniform(10, 80),
                "run_s": chance.uniform(30, 400),
                "leg": chance.randint(1, legs),
            },
        ],
    }
    if solar:
        table["solar"] = {
            "rated_w": chance.uniform(1000, 6000),
            "coupling": solar,
            "cover": chance.uniform(0, 0.9),
            "passing_s": chance.uniform(60, 600),
        }
    if chance.random() < 0.35:
        table["dc_loads"] = {"base_w": chance.uniform(30, 250), "flicker": chance.uniform(0.02, 0.2)}
    if grid:
        table["grid"] = {"volts": volts, "live": chance.random() < 0.5, "export": chance.random() < 0.3}
    _orders(table, chance, hours, start_hour)
    _log(table, chance, legs, solar, grid)
    return table


def _orders(table: dict, chance: random.Random, hours: float, start_hour: int) -> None:
    if hours > 5:
        table["auto"] = {"start_soc": chance.uniform(25, 45), "stop_soc": chance.uniform(60, 85)}
        return
    if chance.random() < 0.15:
        return
    begin = start_hour * 60 + int(table["place"]["start"][14:16])
    on = begin + chance.uniform(0.05, 0.35) * hours * 60
    off = on + chance.uniform(0.3, 0.9) * hours * 60
    table["order"] = [{"at": _clock(on), "do": "start"}]
    if off < begin + hours * 60:
        table["order"].append({"at": _clock(off), "do": chance.choice(["stop", "stop", "kill"])})


def _clock(minutes: float) -> str:
    return f"{int(minutes // 60) % 24:02d}:{int(minutes % 60):02d}:00"


def _log(table: dict, chance: random.Random, legs: int, solar: str, grid: bool) -> None:
    channels = ["generator_power", "load_power", "battery_power", "battery_voltage", "battery_soc"]
    if chance.random() < 0.7:
        channels.append("generator_frequency")
    if chance.random() < 0.6:
        channels.append("converter_ac_power")
    if chance.random() < 0.5:
        channels.append("converter_dc_power")
    if chance.random() < 0.3:
        channels.append("battery_current")
    if solar:
        channels.append("solar_power" if solar == "dc" else "solar_ac_power")
    if grid:
        channels.append("grid_power")
    if "dc_loads" in table:
        channels.append("dc_load_power")
    if chance.random() < 0.4:
        if legs == 1:
            channels += ["generator_voltage", "generator_current"]
        else:
            for leg in range(1, legs + 1):
                channels += [f"generator_voltage_l{leg}", f"generator_current_l{leg}"]
    table["log"]["channels"] = [name for name in CHANNELS if name in channels]
    if chance.random() < 0.5:
        table["meters"] = {}
        for name in table["log"]["channels"]:
            if name in POWERS:
                table["meters"][name] = {
                    "percent": chance.uniform(0.5, 2.0),
                    "floor": chance.uniform(3, 15),
                    "skew_s": chance.choice([0, 0, 0.5, 1.0, 2.0]),
                }


def healthy_variant(plant: PlantRecord, chance: np.random.Generator) -> tuple[Recording, str]:
    """The healthy recording as loggers spoil it: short, coarse, holey, averaged, without a meter."""
    rec = plant.recording
    columns = {name: rec.column(name).copy() for name in rec.channels}
    time = rec.time.copy()
    kind = str(chance.choice(["plain", "short", "coarse", "holes", "missing cells", "averaged", "fewer"]))
    if kind == "short":
        n = int(chance.integers(30, max(31, len(time) // 3)))
        first = int(chance.integers(0, max(1, len(time) - n)))
        time = time[first : first + n]
        columns = {name: values[first : first + n] for name, values in columns.items()}
    elif kind == "coarse":
        for name in columns:
            if name in POWERS:
                columns[name] = (np.round(columns[name] / 100) * 100).astype(np.float32)
            if name == "battery_soc":
                columns[name] = np.round(columns[name]).astype(np.float32)
    elif kind == "holes":
        keep = np.ones(len(time), bool)
        for _ in range(3):
            first = int(chance.integers(0, len(time)))
            keep[first : first + len(time) // 8] = False
        keep[:5] = True
        time = time[keep]
        columns = {name: values[keep] for name, values in columns.items()}
    elif kind == "missing cells":
        for values in columns.values():
            values[chance.random(len(values)) < 0.1] = np.nan
    elif kind == "averaged" and np.diff(time[:2])[0] < 30e9:
        cell = time // 60_000_000_000
        starts = np.flatnonzero(np.concatenate(([True], np.diff(cell) > 0)))
        counts = np.diff(np.append(starts, len(time)))
        columns = {
            name: (np.add.reduceat(values.astype(float), starts) / counts).astype(np.float32)
            for name, values in columns.items()
        }
        time = cell[starts] * 60_000_000_000
    elif kind == "fewer":
        gone = [
            name
            for name in columns
            if name
            in (
                "load_power",
                "converter_ac_power",
                "converter_dc_power",
                "generator_power",
                "solar_power",
                "battery_power",
            )
        ]
        columns.pop(str(chance.choice(gone)))
    return Recording.from_columns(time, columns, rec.provenance), kind


@dataclass(frozen=True)
class Put:
    """A fault put into a recording."""

    channel: str
    fault: str
    value: float = float("nan")


def with_fault(plant: PlantRecord, chance: np.random.Generator) -> tuple[Recording, Put]:
    """The recording with one fault, drawn at random."""
    rec = plant.recording
    powers = [name for name in POWERS if name in rec and np.nanmax(np.abs(rec.column(name))) > 200]
    columns = {name: rec.column(name).copy() for name in rec.channels}
    fault = str(
        chance.choice(
            [
                "reversed",
                "scale",
                "scale",
                "offset",
                "stuck",
                "partly",
                "swapped",
                "unmetered_load",
                "unmetered_source",
                "lag",
                "one_leg",
            ]
        )
    )
    channel = str(chance.choice(powers))
    values = columns[channel].astype(float)
    n = len(values)
    if fault == "reversed":
        columns[channel] = -columns[channel]
        put = Put(channel, fault)
    elif fault == "scale":
        factor = float(chance.choice([10, 0.1, 1000, 0.001, 0.5, 2, 0.7, 1.4, 0.8, 1.3]))
        columns[channel] = np.round(values * factor).astype(np.float32)
        put = Put(channel, fault, factor)
    elif fault == "offset":
        value = float(chance.choice([-1, 1]) * chance.uniform(150, 1000))
        columns[channel] = (values + value).astype(np.float32)
        put = Put(channel, fault, value)
    elif fault in ("stuck", "partly"):
        first = 0 if fault == "stuck" else int(chance.integers(n // 6, n // 2))
        last = n if fault == "stuck" else int(first + n // chance.integers(2, 5))
        columns[channel][first:last] = columns[channel][first]
        put = Put(channel, "stuck", float(columns[channel][first]))
    elif fault == "swapped" and len(powers) > 1:
        one, other = (str(name) for name in chance.choice(powers, 2, replace=False))
        columns[one], columns[other] = columns[other], columns[one]
        put = Put("+".join(sorted((one, other))), "swapped")
    elif fault == "unmetered_load" and "load_power" in columns:
        size = float(chance.uniform(200, 1500))
        on = _on(rec.time, chance)
        alive = plant.truth.column("load_power") > 0
        columns["load_power"] = np.where(
            on & alive,
            columns["load_power"]
            - np.minimum(size, 0.8 * values if channel == "load_power" else 0.8 * columns["load_power"]),
            columns["load_power"],
        ).astype(np.float32)
        put = Put("ac", fault, size)
    elif (
        fault == "unmetered_source"
        and "dc_load_power" in columns
        and np.nanmedian(columns["dc_load_power"]) > 120
    ):
        del columns["dc_load_power"]
        put = Put("dc", "unmetered_load")
    elif fault == "one_leg" and plant.scenario.legs > 1:
        channel = str(chance.choice([name for name in ("load_power", "generator_power") if name in columns]))
        lost = plant.scenario.model_copy(update={"fault": (Fault(channel=channel, kind="one_leg"),)})
        return simulate(lost, plant.seed).recording, Put(channel, fault)
    elif fault == "lag":
        seconds = float(chance.uniform(10, 90))
        rows = max(1, round(seconds / (np.diff(rec.time[:2])[0] / 1e9)))
        columns[channel] = np.concatenate(
            (np.full(rows, columns[channel][0]), columns[channel][:-rows])
        ).astype(np.float32)
        put = Put(channel, fault, rows * np.diff(rec.time[:2])[0] / 1e9)
    else:
        columns[channel] = -columns[channel]
        put = Put(channel, "reversed")
    return Recording.from_columns(rec.time, columns, rec.provenance), put


def _on(time: np.ndarray, chance: np.random.Generator) -> np.ndarray:
    seconds = (time - time[0]) / 1e9
    period = chance.uniform(600, 4000)
    return (seconds % period) < period * chance.uniform(0.2, 0.8)
