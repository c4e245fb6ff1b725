"""A review of a month at 1 Hz in memory: rows per second, room by room, and the cost of one moment.

Run: python tests/bench/bench_review.py [ROWS]
"""

from __future__ import annotations

import resource
import sys
import time

import numpy as np
from side_by_side import seconds

from desktop.charging.counter import SessionCounter
from desktop.charging.energy import EnergyBooks
from desktop.diagnosis.findings import Diagnosis
from desktop.flow.learned import learn
from desktop.flow.worker import Worker
from desktop.review import Review, review
from desktop.review.builder import BLOCK_ROWS
from desktop.site import Site
from recordings.recording import Recording

ROWS = 2_592_000

SHEET = """
[generator]
rated_w = 7000
volts = 230
hz = 50
[input]
limit_a = 25
[battery]
chemistry = "lfp"
nominal_v = 51.2
absorb_v = 56.8
"""


def month(rows: int) -> Recording:
    """A household at 1 Hz: a generator run each evening, sun, ten channels with noise."""
    chance = np.random.default_rng(7)
    clock = np.arange(rows) % 86_400
    run = (clock > 64_800) & (clock < 75_600)
    load = 420 + 260 * np.sin(clock / 9_000) + 1_200 * (clock % 3_600 < 240)
    solar = np.clip(2_600 * np.sin((clock - 25_200) / 36_000 * np.pi), 0, None)
    solar[(clock < 25_200) | (clock > 61_200)] = 0
    generator = np.where(run, 5_200.0, 0.0)
    through = generator - load
    battery = through - 40 - 0.08 * np.abs(through) + solar

    def metered(values: np.ndarray) -> np.ndarray:
        return values + chance.normal(0, 8, rows) * (np.abs(values) > 1)

    columns = {
        "generator_power": metered(generator),
        "generator_voltage": np.where(run, 231.0, 0.0),
        "generator_current": generator / 231,
        "generator_frequency": np.where(run, 50.1, 0.0),
        "load_power": metered(load),
        "solar_power": metered(solar),
        "battery_power": metered(battery),
        "battery_voltage": 52.0 + battery / 4_000,
        "battery_current": battery / 52,
        "battery_soc": np.clip(55 + 20 * np.sin(np.arange(rows) / 40_000), 0, 100),
    }
    start = 1_767_225_600_000_000_000
    return Recording.from_columns(start + np.arange(rows, dtype=np.int64) * 1_000_000_000, columns)


def rooms(recording: Recording, site: Site) -> None:
    """Print what each room costs of the whole."""
    rows = len(recording)
    started = time.perf_counter()
    learned = learn(recording, site)
    spent = {"learn": time.perf_counter() - started}
    workers = {
        "energy": EnergyBooks(),
        "sessions": SessionCounter(learned, site),
        "diagnosis": Diagnosis(learned, site),
    }
    spent |= dict.fromkeys(("flow", *workers), 0.0)
    worker = Worker(learned, site)
    for start in range(0, rows, BLOCK_ROWS):
        began = time.perf_counter()
        block = worker.work(recording, start, min(rows, start + BLOCK_ROWS))
        spent["flow"] += time.perf_counter() - began
        for name, one in workers.items():
            began = time.perf_counter()
            one.extend(block)
            spent[name] += time.perf_counter() - began
    for name, took in spent.items():
        print(f"  {name:<10} {took:7.3f} s  {1e9 * took / rows:7.1f} ns a row")


def moments(found: Review) -> None:
    """Print what a moment costs, in and out of charge sessions, and at worst."""
    chance = np.random.default_rng(5)
    first, last = int(found.recording.time[0]), int(found.recording.time[-1])
    took = []
    for instant in chance.integers(first, last, 300).tolist():
        began = time.perf_counter()
        found.moment(instant)
        took.append(1000 * (time.perf_counter() - began))
    print(f"moment: median {np.median(took):.2f} ms, worst of 300 {max(took):.2f} ms")


def main() -> None:
    """Print rows per second of the whole, of its rooms, and the highest memory."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else ROWS
    recording, site = month(rows), Site.parse(SHEET)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    took = seconds(lambda: review(recording, site), rounds=3)
    print(f"review of {rows} rows: {took:.3f} s, {rows / took / 1e6:.2f} million rows/s")
    rooms(recording, site)
    found = review(recording, site)
    print(f"as_json: {1000 * seconds(found.as_json, rounds=1):.0f} ms")
    moments(found)
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"highest memory {after:.0f} MB, of which {before:.0f} MB before the first review")


if __name__ == "__main__":
    main()
