"""What the judges share: simulations kept in a temporary folder, two processes, tables with binomial intervals."""

from __future__ import annotations

import argparse
import hashlib
import math
import os
import pickle
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

from scipy.stats import beta

import drivers.plant.plant
from desktop.flow.block import Block
from desktop.flow.learned import Learned, learn
from desktop.flow.worker import Worker
from desktop.site import Site
from drivers.plant.scenario import Scenario
from drivers.plant.simulation import Simulation, simulate
from recordings.recording import Recording

_T = TypeVar("_T")
_R = TypeVar("_R")

WORKERS = 2
AT_ONCE = 16_384


def arguments(doc: str, plants: int) -> argparse.Namespace:
    """--plants, --seed, --cases as given."""
    parser = argparse.ArgumentParser(description=doc.splitlines()[0])
    parser.add_argument("--plants", type=int, default=plants)
    parser.add_argument("--seed", type=int, default=1, help="of the first plant")
    parser.add_argument("--cases", type=Path, help="a file for the cases that went wrong")
    return parser.parse_args()


def simulated(scenario: Scenario, how: str = "") -> Simulation:
    """The simulation of a scenario, kept for the next time as long as the simulated plant's code is the same.

    how  whatever else it depends on
    """
    folder = Path(tempfile.gettempdir()) / "headrace-judge"
    folder.mkdir(exist_ok=True)
    key = hashlib.sha256((scenario.model_dump_json() + _code() + how).encode()).hexdigest()[:24]
    path = folder / f"{key}.pickle"
    if path.is_file():
        with path.open("rb") as file:
            found: Simulation = pickle.load(file)
        return found
    done = simulate(scenario)
    partly = path.with_suffix(f".{os.getpid()}")
    with partly.open("wb") as file:
        pickle.dump(done, file, protocol=5)
    partly.replace(path)
    return done


@contextmanager
def with_steps(coarse_s: float, fine_s: float) -> Iterator[None]:
    """Meanwhile the simulated plant takes other steps: `fine_s` while the generator turns."""
    usual = drivers.plant.plant.COARSE_S, drivers.plant.plant.FINE_S
    drivers.plant.plant.COARSE_S, drivers.plant.plant.FINE_S = coarse_s, fine_s
    try:
        yield
    finally:
        drivers.plant.plant.COARSE_S, drivers.plant.plant.FINE_S = usual


def _code() -> str:
    folder = Path(drivers.plant.__file__).parent
    return hashlib.sha256(b"".join(path.read_bytes() for path in sorted(folder.glob("*.py")))).hexdigest()


def site_of(text: str, without: Iterable[str] = ()) -> Site:
    """The plant's site sheet; `without` channels lose their meter's entry, and "solar" its section."""
    import tomllib

    table = tomllib.loads(text)
    for name in without:
        table.get("meters", {}).pop(name, None)
        if name.startswith("solar"):
            table.pop("solar", None)
    return Site.of(table)


def worked(recording: Recording, site: Site) -> tuple[Learned, Iterator[Block]]:
    """What is learned of a recording, and its rows reconciled."""
    learned = learn(recording, site)
    worker = Worker(learned, site)
    count = len(recording)

    def blocks() -> Iterator[Block]:
        for start in range(0, count, AT_ONCE):
            yield worker.work(recording, start, min(start + AT_ONCE, count))

    return learned, blocks()


def spread(work: Callable[[_T], _R], tasks: Sequence[_T]) -> Iterator[_R]:
    """The results of all tasks in order, worked out by two processes; how far it is goes to standard error."""
    started = time.perf_counter()
    with ProcessPoolExecutor(WORKERS) as pool:
        for number, result in enumerate(pool.map(work, tasks), 1):
            if number % max(1, len(tasks) // 10) == 0:
                print(f"  {number}/{len(tasks)} after {time.perf_counter() - started:.0f} s", file=sys.stderr)
            yield result


def interval(hits: int, of: int, sure: float = 0.95) -> tuple[float, float]:
    """The exact interval of a share after Clopper & Pearson (1934)."""
    if of == 0:
        return 0.0, 1.0
    rest = (1.0 - sure) / 2.0
    low = float(beta.ppf(rest, hits, of - hits + 1)) if hits else 0.0
    high = float(beta.ppf(1.0 - rest, hits + 1, of - hits)) if hits < of else 1.0
    return low, high


def line(what: str, hits: int, of: int, least: float = -math.inf, most: float = math.inf) -> bool:
    """Print one row: share, interval, bar, PASS or FAIL. A bar that is missed within the interval is told."""
    share = hits / of if of else math.nan
    low, high = interval(hits, of)
    barred = math.isfinite(least) or math.isfinite(most)
    passed = not barred or (of > 0 and least <= share <= most)
    open_ = barred and not passed and of > 0 and (high >= least if share < least else low <= most)
    bar = "" if not barred else f">= {least:.1%}" if math.isinf(most) else f"<= {most:.1%}"
    if math.isfinite(least) and math.isfinite(most):
        bar = f"{least:.0%}..{most:.0%}"
    said = "" if not barred else "PASS" if passed else "FAIL (could be chance)" if open_ else "FAIL"
    print(f"{what:<58} {hits:>5}/{of:<5} {share:>7.1%}  [{low:.1%}, {high:.1%}]  {bar:<12} {said}")
    return passed


def save(path: Path | None, cases: Sequence[Any]) -> None:
    """Write the cases that went wrong, one a line."""
    if path is not None:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("".join(f"{case}\n" for case in cases), encoding="utf-8")
