"""A scenario run from beginning to end: the truth, and what the meters made of it."""

from __future__ import annotations

from array import array
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drivers.plant.meters import read_all
from drivers.plant.plant import Event, Plant
from drivers.plant.scenario import Scenario
from drivers.plant.site_sheet import site_sheet
from drivers.plant.truth import channels_of
from recordings.provenance import Provenance
from recordings.recording import Recording

Floats = NDArray[np.float64]

_TOLD_EVERY = 4096
_ROUNDING_S = 1e-6


@dataclass(frozen=True, slots=True)
class Simulation:
    """What came out of a scenario.

    recording  what the meters said
    truth      the true values of all the plant's channels at the same instants
    energy_wh  true energies by channel (and loss_power), summed over every step; positive and negative parts
    site_toml  the site sheet of this plant
    events     what really happened, in order
    """

    scenario: Scenario
    seed: int
    recording: Recording
    truth: Recording
    energy_wh: dict[str, tuple[float, float]]
    site_toml: str
    events: tuple[Event, ...]


def simulate(
    scenario: Scenario, seed: int | None = None, progress: Callable[[float], None] | None = None
) -> Simulation:
    """Run a scenario. The same scenario and seed give the same simulation.

    seed      None takes the scenario's own
    progress  hears the share done, 0..1
    """
    plant = Plant(scenario, seed)
    channels = channels_of(plant)
    interval_s = scenario.log.interval_s
    count = round(scenario.place.hours * 3600.0 / interval_s) + 1
    stamps = np.arange(count, dtype=np.float64) * interval_s
    names, seconds, table = _run(plant, stamps, progress)
    truth = {name: table[:, column] for column, name in enumerate(names)}
    kept = [name for name in channels if not scenario.log.channels or name in scenario.log.channels]
    read = read_all(scenario, kept, plant.seed, plant.clock, seconds, truth, stamps)
    time = plant.clock.start_ns + np.round(stamps * 1e9).astype(np.int64)
    rows = np.searchsorted(seconds, stamps - _ROUNDING_S)
    provenance = Provenance(name=scenario.place.name, timezone=scenario.place.timezone)
    return Simulation(
        scenario=scenario,
        seed=plant.seed,
        recording=Recording.from_columns(time, read, provenance),
        truth=Recording.from_columns(time, {name: truth[name][rows] for name in channels}, provenance),
        energy_wh=_energies(truth, seconds),
        site_toml=site_sheet(scenario),
        events=tuple(plant.events),
    )


def _run(
    plant: Plant, stamps: Floats, progress: Callable[[float], None] | None
) -> tuple[list[str], Floats, Floats]:
    first = plant.truth()
    names = list(first)
    seconds, values = array("d", [0.0]), array("d", first.values())
    for number, stamp in enumerate(stamps.tolist()):
        while plant.now < stamp - _ROUNDING_S:
            truth = plant.step(min(plant.step_s, stamp - plant.now))
            seconds.append(plant.now)
            values.extend(truth.values())
        if progress is not None and number % _TOLD_EVERY == 0:
            progress(number / len(stamps))
    if progress is not None:
        progress(1.0)
    return names, np.array(seconds), np.array(values).reshape(-1, len(names))


def _energies(truth: dict[str, Floats], seconds: Floats) -> dict[str, tuple[float, float]]:
    hours = np.diff(seconds) / 3600.0
    energies: dict[str, tuple[float, float]] = {}
    for name, values in truth.items():
        if name.endswith("_power"):
            flowed = values[1:] * hours
            energies[name] = float(flowed[flowed > 0].sum()), float(-flowed[flowed < 0].sum())
    return energies
