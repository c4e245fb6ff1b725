"""What comes again and again: appliances' runs paired from their steps, and grouped by power and length."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from desktop.diagnosis.causes.steps import Step
from desktop.words import template

LONGEST_S = 6 * 3600.0
"""A step up and a step down further apart are not taken for one run."""

LEAST_TIMES = 3
"""So often it must have come before it is called a habit."""

_ALIKE_SHARE, _ALIKE_W, _SIGMAS = 0.10, 40.0, 3.0
_POWER_SPREAD, _LENGTH_SPREAD = 1.22, 1.9
_REGULAR_SPREAD = 0.5
_STARTS_HARD = 0.3
_HARD_SHARE = 0.2

LOOKS: dict[str, str] = {
    "pump": template("a pump"),
    "compressor": template("a fridge or freezer"),
    "kettle": template("a kettle"),
    "heating": template("something that heats by resistance"),
    "motor": template("a motor"),
}
"""What each class looks like, in words."""


@dataclass(frozen=True, slots=True)
class Run:
    """Something that was switched on and off. Times UTC nanoseconds, power W.

    hard  by how much of its power it went above at first, 0 where it didn't
    """

    start: int
    end: int
    watts: float
    hard: float

    @property
    def lasted_s(self) -> float:
        """How long it ran, s."""
        return (self.end - self.start) / 1e9


@dataclass(frozen=True, slots=True)
class Habit:
    """Runs that are alike.

    watts, lasts_s  their medians
    every_s         the median time from start to start, s
    regular         True where that varies little
    looks           a key of LOOKS, "" where nothing fits
    """

    runs: tuple[Run, ...]
    watts: float
    lasts_s: float
    every_s: float
    regular: bool
    looks: str

    def has(self, start: int) -> bool:
        """True where one of its runs began then."""
        return any(run.start == start for run in self.runs)


def paired(steps: Sequence[Step]) -> list[Run]:
    """Runs: each step down with the step up before it that it fits best."""
    standing: list[Step] = []
    runs: list[Run] = []
    for step in steps:
        if step.size_w > 0:
            standing.append(step)
            continue
        standing = [up for up in standing if step.time - up.time <= LONGEST_S * 1e9]
        apart = [abs(up.size_w + step.size_w) / _alike_w(up, step) for up in standing]
        if not apart or min(apart) > 1:
            continue
        # Of those that fit about as well the latest.
        best = max(row for row, value in enumerate(apart) if value <= min(apart) + 0.2)
        up = standing.pop(best)
        watts = 0.5 * (up.size_w - step.size_w)
        runs.append(Run(up.time, step.time, watts, up.inrush_w / watts))
    return sorted(runs, key=lambda run: run.start)


def _alike_w(up: Step, down: Step) -> float:
    noise = _SIGMAS * math.hypot(up.sd_w, down.sd_w)
    return max(_ALIKE_W, _ALIKE_SHARE * up.size_w, noise)


def habits(runs: Sequence[Run], interval_s: float) -> list[Habit]:
    """Groups of at least LEAST_TIMES runs that are alike in power and length, the greatest power first."""
    found = []
    for by_power in _split(sorted(runs, key=lambda run: run.watts), "watts", _POWER_SPREAD):
        for alike in _split(sorted(by_power, key=lambda run: run.lasted_s), "lasted_s", _LENGTH_SPREAD):
            if len(alike) >= LEAST_TIMES:
                found.append(_habit(sorted(alike, key=lambda run: run.start), interval_s))
    return sorted(found, key=lambda habit: -habit.watts)


def _split(runs: list[Run], by: str, spread: float) -> list[list[Run]]:
    """Runs in order of something, cut where it leaves `spread` times the least of its group."""
    groups: list[list[Run]] = []
    for run in runs:
        if groups and getattr(run, by) <= spread * getattr(groups[-1][0], by):
            groups[-1].append(run)
        else:
            groups.append([run])
    return groups


def _habit(runs: list[Run], interval_s: float) -> Habit:
    starts = np.array([run.start for run in runs])
    between = np.diff(starts) / 1e9
    every = float(np.median(between))
    low, high = np.percentile(between, (25, 75))
    watts, lasts = (float(np.median([getattr(run, name) for run in runs])) for name in ("watts", "lasted_s"))
    hard = sum(run.hard > _STARTS_HARD for run in runs) >= _HARD_SHARE * len(runs)
    regular = bool(len(runs) > LEAST_TIMES and high - low <= _REGULAR_SPREAD * every)
    looks = looks_like(watts, lasts, every, regular=regular, hard=hard, fine=interval_s <= 2)
    return Habit(tuple(runs), watts, lasts, every, regular, looks)


def looks_like(watts: float, lasts_s: float, every_s: float, *, regular: bool, hard: bool, fine: bool) -> str:
    """What runs of this kind look like: a key of LOOKS, "" where nothing fits (common practice, no source).

    hard  it starts with a peak, as motors do
    fine  rows are close enough for such a peak to show
    """
    duty = lasts_s / every_s if every_s > 0 else math.nan
    if 40 <= watts <= 400 and 150 <= lasts_s <= 4000 and regular and 0.1 <= duty <= 0.8:
        return "compressor"
    if 250 <= watts <= 2500 and 8 <= lasts_s <= 400 and (hard or (lasts_s <= 120 and duty < 0.1)):
        return "pump"
    if hard:
        return "motor"
    if (800 if fine else 1500) <= watts <= 3300 and 60 <= lasts_s <= 420 and not regular:
        return "kettle"
    if not fine or watts < 400:
        return ""
    return "heating"
