"""What each run of the set burnt, and what it would have burnt for the same energy at a good load."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from desktop.charging.fuel.curve import FuelCurve
from desktop.charging.fuel.published import PUBLISHED
from desktop.charging.fuel.running import Running
from desktop.charging.sessions import Session
from desktop.site import Site

_GUESSED_SD = 0.3
"""How far the power of minutes without a reading may lie from the run's mean, as a share."""


@dataclass(frozen=True, slots=True)
class Burnt:
    """The fuel of one run, warming up and cooling down with it. NaN where not known.

    amount, sd   units (L, or m³ of natural gas)
    wh           what the set gave, Wh
    hours        how long it ran; unloaded_h of them without load worth the name
    each_kwh     units for each kWh given
    efficiency   energy given over the lower heating value of what was burnt, 0..1
    cost         in the currency of the sheet's price
    load_share   mean power over the rating while it ran
    extra        units more than the same energy takes at three quarters of the rating
    """

    amount: float
    sd: float
    unit: str
    wh: float
    hours: float
    each_kwh: float
    efficiency: float
    cost: float
    load_share: float
    extra: float


def burnt_of(sessions: Sequence[Session], ran: Running, curve: FuelCurve, site: Site) -> tuple[Burnt, ...]:
    """The fuel of each session, in their order."""
    return tuple(_burnt(rows, ran, curve, site) for rows in _rows_of(sessions, ran))


def _rows_of(sessions: Sequence[Session], ran: Running) -> list[slice]:
    """The minutes of each session and of the unloaded running around it, halved between neighbours."""
    turning = ran.hours > 0
    torn = np.flatnonzero(~turning[:-1] | ~turning[1:] | _apart(ran)) + 1
    edges = np.concatenate(([0], torn, [len(ran)]))
    cores = [
        (
            max(0, int(np.searchsorted(ran.time, one.start, side="right")) - 1),
            int(np.searchsorted(ran.time, one.end, side="right")),
        )
        for one in sessions
    ]
    found: list[slice] = []
    for number, (first, stop) in enumerate(cores):
        if stop <= first:
            found.append(slice(0, 0))
            continue
        start = int(edges[np.searchsorted(edges, first, side="right") - 1])
        end = int(edges[np.searchsorted(edges, stop - 1, side="right")])
        if number:
            start = max(start, (cores[number - 1][1] + first) // 2)
        if number + 1 < len(cores):
            end = min(end, (stop + cores[number + 1][0]) // 2)
        found.append(slice(min(start, first), max(end, stop)))
    return found


def _apart(ran: Running) -> np.ndarray:
    return np.diff(ran.time) / 1e9 > ran.span_s[:-1] + 1e-6


def _burnt(rows: slice, ran: Running, curve: FuelCurve, site: Site) -> Burnt:
    hours, wh = ran.hours[rows], ran.wh[rows]
    running_h = float(np.nansum(hours))
    told = (hours > 0) & np.isfinite(wh)
    told_h = float(hours[told].sum())
    if told_h <= 0 or told_h < 0.5 * running_h:
        return _unknown(curve)
    given = float(wh[told].sum())
    guessed = given / told_h * (running_h - told_h)
    energy = given + guessed
    amount = curve.burnt(running_h, energy)
    energy_sd = math.hypot(float(np.sum(ran.wh_sd[rows][told])), _GUESSED_SD * guessed)
    extra = amount - energy / 1000 * curve.best_each_kwh
    price = site.generator.price_per_unit
    return Burnt(
        amount=amount,
        sd=math.hypot(curve.sd * amount, curve.per_kwh * energy_sd / 1000),
        unit=curve.unit,
        wh=energy,
        hours=running_h,
        each_kwh=amount / (energy / 1000) if energy > 0 else math.nan,
        efficiency=_efficiency(energy, amount, site),
        cost=math.nan if price is None else price * amount,
        load_share=energy / running_h / curve.rated_w,
        extra=extra,
    )


def _efficiency(energy: float, amount: float, site: Site) -> float:
    line = PUBLISHED.get(site.generator.fuel or "")
    return math.nan if line is None or amount <= 0 else energy / 1000 / (amount * line.kwh)


def _unknown(curve: FuelCurve) -> Burnt:
    nothing = math.nan
    return Burnt(nothing, nothing, curve.unit, *(7 * (nothing,)))
