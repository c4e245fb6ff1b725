"""Rows reconciled per second on one core, beside scipy.optimize.lsq_linear on the same rows.

A row is measured, judged (deviations), reconciled (values, deviations, χ²) and traced from source to sink.
Processor time is counted, not wall time, so that other programs disturb less.

Run: python tests/bench/bench_reconcile.py [ROWS]
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

import numpy as np
from scipy.linalg import null_space
from scipy.optimize import lsq_linear

from desktop.flow.learned import learn
from desktop.flow.streams import INDEX
from desktop.flow.worker import Worker
from desktop.site import Site
from recordings.recording import Recording

ROWS, AT_ONCE, ROUNDS, OTHER_ROWS = 500_000, 16_384, 9, 300

USUAL = ("generator", "load", "solar", "battery")
CASES = {
    "usual meters": USUAL,
    "with a converter AC meter": (*USUAL, "converter_ac"),
    "with both converter meters": (*USUAL, "converter_ac", "converter_dc"),
}


def recording(rows: int, streams: tuple[str, ...], running: bool) -> Recording:
    """A charge in sunshine, or a night of which the generator sees nothing."""
    chance, t = np.random.default_rng(7), np.arange(rows)
    x = {"load": 900 + 500 * np.sin(t / 900) + np.where(t % 3600 < 240, 1200, 0)}
    x["generator"] = np.full(rows, 5200.0 if running else 0.0)
    x["solar"] = 1500 + 800 * np.sin(t / 4000) if running else np.zeros(rows)
    x["converter_ac"] = through = x["generator"] - x["load"]
    x["converter_dc"] = np.where(through > 0, through - 40 - 0.06 * through, (through - 40) / 0.94)
    x["battery"] = x["solar"] + x["converter_dc"]
    noise = chance.normal(size=(len(streams), rows))
    columns = {
        f"{name}_power": x[name] + noise[row] * np.hypot(0.01 * x[name], 5) * (x[name] != 0)
        for row, name in enumerate(streams)
    }
    columns["generator_frequency"] = np.full(rows, 50.0 if running else 0.0)
    columns["battery_voltage"] = np.full(rows, 53.0)
    columns["battery_soc"] = np.full(rows, 60.0)
    return Recording.from_columns(t * 10**9, columns)


def best(work: Callable[[], object]) -> float:
    """The least processor time of several runs, s."""
    spent = []
    for _ in range(ROUNDS):
        started = time.process_time()
        work()
        spent.append(time.process_time() - started)
    return min(spent)


def seconds_per_row(rows: Recording) -> float:
    """Processor time of everything that is done for a row."""
    worker = Worker(learn(rows, Site()), Site())

    def work() -> None:
        for start in range(0, len(rows), AT_ONCE):
            worker.work(rows, start, start + AT_ONCE)

    return best(work) / len(rows)


def seconds_per_row_of_scipy(rows: Recording) -> float:
    """The values alone, bounded, one row after another."""
    learned = learn(rows, Site())
    block = Worker(learned, Site()).work(rows, 0, OTHER_ROWS)
    balances = learned.network.balances(learned.conversion.slope, charging=True)
    used = [INDEX[name] for name in learned.network.present] + [balances.shape[1] - 1]
    basis = null_space(balances[:, used])
    seen = [used.index(INDEX[name]) for name in USUAL] + [len(used) - 1]
    y = np.vstack(
        (block.measured[[INDEX[name] for name in USUAL]], np.full(OTHER_ROWS, learned.conversion.idle_w))
    )
    matrix = basis[seen] / np.array([100.0, 20, 30, 80, 40])[:, None]
    right = y / np.array([100.0, 20, 30, 80, 40])[:, None]

    def work() -> None:
        for row in range(OTHER_ROWS):
            lsq_linear(matrix, right[:, row])

    return best(work) / OTHER_ROWS


def main() -> None:
    """Print million rows per second for each set of meters, and the ratio to scipy."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else ROWS
    other = seconds_per_row_of_scipy(recording(rows, USUAL, True))
    print(f"scipy.optimize.lsq_linear: {other * 1e6:.0f} µs a row")
    for running, when in ((True, "charging"), (False, "at night")):
        for name, streams in CASES.items():
            own = seconds_per_row(recording(rows, streams, running))
            print(f"{when:<9} {name:<28} {1e-6 / own:6.2f} million rows/s   ratio {other / own:8.0f}")


if __name__ == "__main__":
    main()
