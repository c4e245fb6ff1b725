"""Recordings of a small plant, worked out from its powers, for reviews."""

from __future__ import annotations

import numpy as np

from desktop.site import Site
from recordings.recording import Recording

SECOND = 1_000_000_000
START = 1_767_225_600 * SECOND

SHEET = """
[site]
name = "Farmhouse"
timezone = "Europe/Berlin"
[generator]
rated_w = 7000
volts = 230
hz = 50
[input]
limit_a = 25
[charger]
limit_a = 90
[battery]
chemistry = "lfp"
nominal_v = 51.2
absorb_v = 56.8
"""

SITE = Site.parse(SHEET)


def columns_of(
    generator: np.ndarray, load: np.ndarray, solar: np.ndarray, *, noise: float = 0.0, seed: int = 1
) -> dict[str, np.ndarray]:
    """What the meters of a plant show while the battery takes what is left (loss 40 W and 6 %).

    generator  W; a negative value stands for a set that runs without load, 0 for one that stands still
    """
    chance = np.random.default_rng(seed)
    generator, running = np.maximum(generator, 0.0), generator != 0
    through = generator - load
    feeding = np.where(through >= 0, through, through / 0.94)
    loss = 40 + 0.06 * np.abs(feeding)
    battery = through - loss + solar
    voltage = 52.0 + battery / 3000

    def metered(values: np.ndarray) -> np.ndarray:
        return values + noise * chance.standard_normal(len(values))

    return {
        "generator_power": np.where(running, metered(generator), 0.0),
        "generator_voltage": np.where(running, 230.0, 0.0),
        "generator_frequency": np.where(running, 50.2, 0.0),
        "load_power": metered(load),
        "solar_power": np.maximum(metered(solar), 0.0),
        "battery_power": metered(battery),
        "battery_voltage": voltage,
        "battery_soc": np.clip(40 + np.cumsum(battery) / 3600 / 12_000 * 100, 0, 100),
    }


def session_day(rows: int = 4000, *, step_s: float = 1.0, noise: float = 8.0, seed: int = 1) -> Recording:
    """A quiet start, a charge session in the middle half, a quiet end; some sun throughout.

    The generator runs for a hundred rows without load before and after.
    """
    at = np.arange(rows)
    loaded = (at > rows // 4) & (at < 3 * rows // 4)
    generator = np.where(loaded, 5200.0, np.where(np.abs(at - rows // 2) < rows // 4 + 100, -1.0, 0.0))
    load = 700.0 + 400.0 * ((at // 300) % 2)
    solar = 500.0 + 200.0 * np.sin(at / 500)
    time = START + np.round(at * step_s * SECOND).astype(np.int64)
    return Recording.from_columns(time, columns_of(generator, load, solar, noise=noise, seed=seed))
