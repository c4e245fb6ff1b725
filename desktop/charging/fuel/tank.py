"""What the tank still holds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from desktop.charging.fuel.calibration import (
    FULL_SD,
    GAUGE_SD,
    PUMPED_SD,
    burnt_by_minute,
    gauge_step,
    refills,
)
from desktop.charging.fuel.curve import FuelCurve
from desktop.charging.fuel.running import Running
from desktop.site import Site

Floats = NDArray[np.float64]

_RECENT = 10
_STALE = 60


@dataclass(frozen=True, slots=True)
class TankLeft:
    """Units in the tank at the last minute, with their standard deviation.

    source  the gauge, or reckoned from the last full tank that was noted
    """

    amount: float
    sd: float
    source: Literal["fuel gauge", "refill"]


def tank_left(curve: FuelCurve, ran: Running, level: Floats, site: Site) -> TankLeft | None:
    """What is left by the gauge, else by the refill notes; None where neither tells."""
    return _by_gauge(curve, ran, level, site) or _by_notes(curve, ran, site)


def _by_gauge(curve: FuelCurve, ran: Running, level: Floats, site: Site) -> TankLeft | None:
    tank = site.generator.tank
    known = np.flatnonzero(np.isfinite(level[-_STALE:])) + max(0, len(level) - _STALE)
    if tank is None or not known.size:
        return None
    latest = known[-_RECENT:]
    since = np.cumsum(burnt_by_minute(curve, ran)[latest[0] :])
    # Each of the latest readings, less what has been burnt since.
    left = level[latest] * tank / 100 - (since[-1] - since[latest - latest[0]])
    step = gauge_step(level[known]) / 100 * tank
    middle = float(np.median(left))
    doubt = math.hypot(step / math.sqrt(12), 0.5 * GAUGE_SD * min(middle, tank - middle))
    return TankLeft(max(0.0, middle), doubt, "fuel gauge")


def _by_notes(curve: FuelCurve, ran: Running, site: Site) -> TankLeft | None:
    """The last full tank and what was added since, less what the curve says was burnt."""
    tank = site.generator.tank
    end = int(ran.time[-1]) if len(ran) else 0
    notes = [note for note in refills(site) if note.at <= end]
    full = [number for number, note in enumerate(notes) if note.full]
    if tank is None or not full:
        return None
    begin, added = notes[full[-1]].at, sum(note.amount for note in notes[full[-1] + 1 :])
    if not len(ran) or begin < ran.time[0] - round(3600e9):
        # What was burnt before the recording began is not known.
        return None
    burnt = float(burnt_by_minute(curve, ran)[ran.time >= begin].sum())
    doubt = math.hypot(FULL_SD * tank, curve.sd * burnt, PUMPED_SD * added)
    return TankLeft(max(0.0, min(tank + added - burnt, tank)), doubt, "refill")
