"""The hypotheses that are tried: healthy, and every single fault that a plant's meters could have."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np

from desktop.diagnosis.suspects.case import Case
from desktop.diagnosis.suspects.runs import Runs, runs_of

Fault = Literal[
    "healthy",
    "reversed",
    "scale",
    "offset",
    "stuck",
    "one_leg",
    "swapped",
    "unmetered_load",
    "unmetered_source",
    "lag",
]

USUAL_FACTORS = (0.001, 0.1, 0.5, 2.0, 10.0, 1000.0)
"""Decimal points and kilowatts mistaken, one clamp of two or one that is counted twice (common practice)."""

PENALTY: dict[str, float] = {
    "healthy": 0.0,
    "reversed": 1.0,
    "usual": 1.5,
    "scale": 4.0,
    "offset": 4.0,
    "swapped": 2.5,
    "stuck": 3.0,
    "one_leg": 5.0,
    "constant": 5.5,
    "unmetered": 6.0,
    "course": 12.0,
}
"""What each kind costs for being less usual, or for a parameter that is fitted; what may be of any course, as much
as a fault must do better than healthy meters."""


@dataclass(frozen=True, slots=True)
class Trial:
    """One hypothesis.

    meters    rows of the meters that lie; two where they are swapped, none where none does
    factor    by what the meter multiplies, where that isn't fitted
    free      what is fitted: "gain", "offset", "leg" (a share of the power and what strays), "constant", "course"
              or "switched" (power at a bus), "" for nothing
    bus       where something flows unmetered
    runs      where a meter stood still
    """

    channel: str
    fault: Fault
    penalty: float
    meters: tuple[int, ...] = ()
    factor: float = 1.0
    free: str = ""
    bus: str = ""
    runs: Runs | None = None


_LEAST_APART_W, _APART, _OFTEN, _LASTING = 60.0, 4.0, 0.15, 60.0

HEALTHY = Trial("", "healthy", 0.0)


def trials_of(case: Case) -> Iterator[Trial]:
    """Every fault that can be tried on a case."""
    read = [row for row in range(len(case.meters)) if np.isfinite(case.readings[row]).any()]
    for row in read:
        yield from _of_meter(case, row)
    powers = [row for row in read if case.meters[row].of_power]
    for one, other in combinations(powers, 2):
        if not _differ(case, one, other):
            continue
        channel = f"{case.meters[one].channel}+{case.meters[other].channel}"
        yield Trial(channel, "swapped", PENALTY["swapped"], (one, other))
    for bus in ("ac", "dc") if case.network.has("loss") else ("ac",):
        for fault in ("unmetered_load", "unmetered_source"):
            yield Trial(bus, fault, PENALTY["unmetered"], bus=bus)
            yield Trial(bus, fault, PENALTY["constant"], bus=bus, free="constant")
            yield Trial(bus, fault, PENALTY["unmetered"], bus=bus, free="switched")
            yield Trial(bus, fault, PENALTY["course"], bus=bus, free="course")


def _differ(case: Case, one: int, other: int) -> bool:
    """True where two meters read so different that it shows when they're exchanged."""
    apart = np.abs(case.readings[one] - case.readings[other])
    noise = case.noise(case.readings, np.ones(len(case.meters)))
    allowed = np.maximum(_LEAST_APART_W, _APART * np.hypot(noise[one], noise[other]))
    known = np.isfinite(apart)
    if not known.any():
        return False
    # What a converter loses between them, or a small load takes, is little, but lasts.
    z = np.minimum(apart / np.hypot(noise[one], noise[other]), _APART)[known]
    often = float(np.mean(apart[known] > allowed[known])) > _OFTEN
    return often or float(case.weight[known] @ z**2) > _LASTING


def _of_meter(case: Case, row: int) -> Iterator[Trial]:
    meter = case.meters[row]
    runs = runs_of(case.snapshot, row, float(case.quantum[row])) if meter.of_power else None
    if runs is not None:
        yield Trial(meter.channel, "stuck", PENALTY["stuck"], (row,), runs=runs)
    largest = float(np.nanpercentile(np.abs(case.readings[row]), 95))
    if largest < 0.9 * float(case.quantum[row]) or (runs is not None and runs.throughout):
        return
    yield Trial(meter.channel, "reversed", PENALTY["reversed"], (row,), -1.0)
    legged = meter.stream in ("load", "generator") and case.site.generator.legs > 1
    for factor in USUAL_FACTORS:
        yield Trial(meter.channel, "scale", PENALTY["usual"], (row,), factor)
    yield Trial(meter.channel, "scale", PENALTY["scale"], (row,), free="gain")
    if not meter.of_power:
        return
    yield Trial(meter.channel, "offset", PENALTY["offset"], (row,), free="offset")
    if legged:
        yield Trial(meter.channel, "one_leg", PENALTY["one_leg"], (row,), free="leg")
