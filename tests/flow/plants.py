"""Plants made by hand: true streams, and recordings of what meters would say of them."""

from __future__ import annotations

import numpy as np

from desktop.flow.streams import BALANCE, INDEX, STREAMS
from recordings.recording import Recording

START = 1_767_225_600_000_000_000
IDLE_W, SLOPE = 40.0, 0.06


def true_streams(**given: object) -> np.ndarray:
    """(10, n) a plant that balances, with loss = 40 W + 0.06·|feeding power|. The battery takes the rest."""
    rows = max(np.size(value) for value in given.values())
    x = np.zeros((len(STREAMS), rows))
    for name, value in given.items():
        x[INDEX[name]] = value
    ac = x[INDEX["generator"]] + x[INDEX["grid"]] + x[INDEX["solar_ac"]] - x[INDEX["load"]]
    # Below the idle loss both sides feed the converter.
    dc = np.where(ac > 0, ac - IDLE_W - SLOPE * ac, (ac - IDLE_W) / (1 - SLOPE))
    x[INDEX["converter_ac"]], x[INDEX["converter_dc"]] = ac, dc
    x[INDEX["loss"]] = ac - dc
    x[INDEX["battery"]] = x[INDEX["solar"]] + dc - x[INDEX["dc_load"]]
    assert np.abs(BALANCE @ x).max() < 1e-8
    return x


def day(rows: int = 4000, seed: int = 0) -> np.ndarray:
    """(10, rows) of a day in which the generator runs now and then, with solar and a changing load."""
    chance = np.random.default_rng(seed)
    t = np.arange(rows)
    load = 500 + 350 * np.sin(t / 300) + np.where(t % 700 < 60, 1800, 0)
    running = (t // 900) % 2 == 1
    generator = np.where(running, 4200 + 900 * np.sin(t / 250), 0.0)
    solar = np.clip(2600 * np.sin(t / rows * 2 * np.pi), 0, None)
    return true_streams(generator=generator, load=load + chance.normal(0, 2, rows), solar=solar)


def metered(
    x: np.ndarray,
    *streams: str,
    noise: float = 0.0,
    seed: int = 1,
    interval_s: float = 1.0,
    **channels: np.ndarray,
) -> Recording:
    """A recording of some streams, with noise in units of the assumed meter class, and of further channels."""
    chance = np.random.default_rng(seed)
    columns: dict[str, np.ndarray] = {}
    for name in streams:
        truth = x[INDEX[name]]
        columns[f"{name}_power"] = truth + noise * chance.normal(size=truth.size) * np.hypot(0.02 * truth, 15)
    time = START + np.round(np.arange(x.shape[1]) * interval_s * 1e9).astype(np.int64)
    return Recording.from_columns(time, columns | channels)


USUAL = ("generator", "load", "solar", "battery")
