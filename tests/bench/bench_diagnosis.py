"""All detectors over a month at 1 Hz in blocks, beside one pass of numpy over the same columns.

Run: python tests/bench/bench_diagnosis.py [ROWS]
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from side_by_side import seconds, told

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "diagnosis"))
from diagnosis_blocks import Facts, block, part, sheet

from desktop.diagnosis.findings import Diagnosis
from desktop.flow.block import Block

ROWS = 2_592_000
BLOCK_ROWS = 16_384


def month(rows: int) -> Block:
    """A month of a household: a generator run each evening, sun, and noise as of meters."""
    chance = np.random.default_rng(7)
    clock = np.arange(rows) % 86_400
    run, turning = (clock > 64_800) & (clock < 75_600), (clock > 64_500) & (clock < 75_900)
    load = 420 + 260 * np.sin(clock / 9_000) + 1_200 * (clock % 3_600 < 240)
    solar = np.clip(2_600 * np.sin((clock - 25_200) / 36_000 * np.pi), 0, None)
    generator = np.where(run, 5_200.0, 0.0)
    through = generator - load
    battery = through - (40 + 0.06 * np.abs(through)) + solar

    def metered(values: np.ndarray, noise: float = 8.0) -> np.ndarray:
        return np.where(values == 0, 0.0, values + chance.normal(0, noise, rows))

    volts = 52.0 + battery / 4_000
    columns = {
        "generator_power": np.round(metered(generator)),
        "generator_voltage": metered(np.where(turning, 231.0, 0.0), 0.3),
        "generator_current": metered(generator / 231, 0.05),
        "generator_frequency": metered(np.where(turning, 50.1, 0.0), 0.02),
        "load_power": np.round(metered(load)),
        "solar_power": np.round(metered(solar)),
        "battery_power": np.round(metered(battery)),
        "battery_voltage": np.round(volts, 2),
        "battery_current": np.round(metered(battery / volts, 0.1), 2),
        "battery_soc": 60 + 20 * np.sin(clock / 86_400 * 2 * np.pi),
    }
    return block(
        columns,
        unaccounted={"ac": metered(np.full(rows, 1.0), 25.0), "dc": metered(np.full(rows, 1.0), 25.0)},
    )


def pieces(whole: Block) -> Iterator[Block]:
    for start in range(0, len(whole), BLOCK_ROWS):
        yield part(whole, start, min(start + BLOCK_ROWS, len(whole)))


def main() -> None:
    """Print rows per second and the ratio."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else ROWS
    cut = list(pieces(month(rows)))
    site = sheet(battery={"capacity_kwh": None})

    def diagnose() -> None:
        diagnosis = Diagnosis(Facts(), site)
        for piece in cut:
            diagnosis.extend(piece)
        diagnosis.findings()

    def bare() -> None:
        for piece in cut:
            for column in piece.channels.values():
                (column > 1e6).any()

    ours, plain = seconds(diagnose, 3), seconds(bare, 3)
    told("all detectors", ours, "compare each column once", plain)
    print(f"{rows / ours / 1e6:.2f} million rows a second")


if __name__ == "__main__":
    main()
