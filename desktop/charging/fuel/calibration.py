"""How a set's real fuel use compares with its curve: by what was filled in, and by the fuel gauge."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from desktop.charging.fuel.curve import FuelCurve, Source
from desktop.charging.fuel.running import Running
from desktop.site import Site

Floats = NDArray[np.float64]

FULL_SD = 0.015
"""How well one full tank is like another, as a share of the tank (common practice, no source)."""

PUMPED_SD = 0.02
"""How well a filled amount is known."""

GAUGE_SD = 0.04
"""How straight a fuel gauge is over a part of the tank (common practice, no source)."""

_MISSED = 0.1
_RISE_PERCENT = 2.5
_LEAST_STEPS = 5
_TANKS = 8
"""So many tanks tell enough; a set that ages is known by its latest."""


@dataclass(frozen=True, slots=True)
class Scale:
    """Real fuel use over the curve's, with its standard deviation."""

    factor: float
    sd: float


def calibrated(curve: FuelCurve, ran: Running, level: Floats, site: Site) -> FuelCurve:
    """The curve, scaled by what the refill notes and the gauge tell.

    level  (m,) fuel level by minute, percent
    """
    used = burnt_by_minute(curve, ran)
    notes = list(by_refills(used, ran, site))
    gauge = by_gauge(used, level, site)
    if not notes and gauge is None:
        return curve
    told = [Scale(1.0, curve.sd), *notes, *([] if gauge is None else [gauge])]
    weights = [1 / one.sd**2 for one in told]
    factor = sum(w * one.factor for w, one in zip(weights, told, strict=True)) / sum(weights)
    source: Source = "refills" if gauge is None else "refills and fuel gauge" if notes else "fuel gauge"
    return curve.scaled(factor, 1 / math.sqrt(sum(weights)), source)


def burnt_by_minute(curve: FuelCurve, ran: Running) -> Floats:
    """(m,) units burnt in each minute by the curve; a minute of running without a power counts as idling."""
    return curve.idle * np.nan_to_num(ran.hours) + curve.per_kwh * np.nan_to_num(ran.wh) / 1000


def by_refills(used: Floats, ran: Running, site: Site) -> Iterator[Scale]:
    """One factor for each pair of full tanks between which the set was watched."""
    notes = refills(site)
    full = [number for number, note in enumerate(notes) if note.full]
    for first, last in pairwise(full):
        begin, end = notes[first].at, notes[last].at
        rows = slice(*np.searchsorted(ran.time, (begin, end)).tolist())
        burnt, poured = float(used[rows].sum()), sum(note.amount for note in notes[first + 1 : last + 1])
        watched = float(ran.span_s[rows][np.isfinite(ran.hours[rows])].sum())
        if burnt <= 0 or poured <= 0 or watched < (1 - _MISSED) * (end - begin) / 1e9:
            continue
        tank = site.generator.tank or poured
        yield Scale(poured / burnt, math.hypot(math.sqrt(2) * FULL_SD * tank, PUMPED_SD * poured) / burnt)


@dataclass(frozen=True, slots=True)
class Filled:
    """A refill note whose time is UTC nanoseconds."""

    at: int
    amount: float
    full: bool


def refills(site: Site) -> list[Filled]:
    """The sheet's refill notes in order of time."""
    found = []
    for note in site.refill:
        local = note.at if note.at.tzinfo is not None else note.at.replace(tzinfo=site.zone)
        found.append(Filled(round(local.timestamp() * 1e9), note.amount, note.full))
    return sorted(found, key=lambda note: note.at)


def by_gauge(used: Floats, level: Floats, site: Site) -> Scale | None:
    """The slope of the gauge over the curve's use, between refills; None where it tells too little."""
    tank = site.generator.tank
    known = np.isfinite(level)
    if tank is None or known.sum() < 2:
        return None
    left, spent = level[known] * tank / 100, np.cumsum(used)[known]
    step = gauge_step(level[known]) * tank / 100
    filled = np.flatnonzero(np.diff(left) > _RISE_PERCENT * tank / 100) + 1
    found = [
        one
        for part in np.split(np.arange(len(left)), filled)[-_TANKS:]
        if (one := _slope(spent[part], left[part], step)) is not None
    ]
    if not found:
        return None
    weights = np.array([1 / one.sd**2 for one in found])
    factor = float(weights @ np.array([one.factor for one in found]) / weights.sum())
    return Scale(factor, math.hypot(weights.sum() ** -0.5, GAUGE_SD * factor))


def gauge_step(level: Floats) -> float:
    """In which steps the gauge is told, percent: 1 where nearly all readings are whole, else 0.1 or less."""
    return 1.0 if np.mean(np.abs(level - np.round(level)) < 0.02) > 0.5 else 0.1


def _slope(spent: Floats, left: Floats, step: float) -> Scale | None:
    """A straight line through one tank's readings; the worst outliers are left out once."""
    # While the set rests the same reading comes again and again: it counts once for each step of use.
    _, once = np.unique(np.round(spent / (0.25 * step)), return_index=True)
    x, y = spent[once], left[once]
    for _ in range(2):
        if len(x) < _LEAST_STEPS or np.ptp(x) < _LEAST_STEPS * step:
            return None
        off = x - x.mean()
        slope = float(off @ y) / float(off @ off)
        rest = np.abs(y - y.mean() - slope * off)
        kept = rest <= 4 * max(float(np.median(rest)), 0.25 * step)
        x, y = x[kept], y[kept]
    span = float(np.ptp(x))
    steps = span / step
    return Scale(-slope, step / (span * math.sqrt(steps))) if slope < 0 else None
