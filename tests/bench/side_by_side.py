"""Timing things against each other in one run: only the ratios say anything on another machine."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable


def seconds(work: Callable[[], object], rounds: int = 5) -> float:
    """The best of several runs, s."""
    best = float("inf")
    for _ in range(rounds):
        started = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - started)
    return best


def process(*arguments: str, rounds: int = 3) -> float:
    """The best wall time of a fresh Python process with these arguments, s."""

    def work() -> None:
        subprocess.run([sys.executable, *arguments], check=True, capture_output=True)

    return seconds(work, rounds)


def peak_megabytes(*arguments: str) -> float:
    """The highest memory of a fresh Python process with these arguments, MB."""
    code = (
        "import resource, subprocess, sys; subprocess.run(sys.argv[1:], check=True, stdout=subprocess.DEVNULL); "
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, sys.executable, *arguments], check=True, capture_output=True, text=True
    )
    return float(done.stdout)


def told(what: str, measured: float, against: str, bare: float) -> None:
    """Print one comparison."""
    print(f"{what:<46} {measured:9.3f} s   {against:<34} {bare:9.3f} s   ratio {measured / bare:6.2f}")
