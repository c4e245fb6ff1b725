"""Internal resistance from steps of the load."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.records import Table

Floats = NDArray[np.float64]

_LEAST_STEPS = 6
_ROUNDS = 4
_OUTLYING = 3.5
_NORMAL = 1.4826
_FEW = 1.6


@dataclass(frozen=True, slots=True)
class Resistance:
    """Resistance, Ω, of what gives way within one step of the log; its sd holds the meters' gain errors.

    steps    on how many steps it rests
    seconds  how long they took, median: what sags more slowly is not in it
    """

    ohm: float
    sd: float
    steps: int
    seconds: float


def resistance(steps: Table, gain_sd: float, *, charging_too: bool) -> Resistance | None:
    """The slope of voltage over current; None where too few steps agree.

    gain_sd       of volts per ampere, as a share
    charging_too  steps while charging count as well: not for lead-acid, which takes charge in with far more
                  resistance than it gives it back
    """
    rows = np.ones(len(steps), np.bool_) if charging_too else steps["side"] == 0
    amperes, volts, seconds = (steps[name][rows] for name in ("amperes", "volts", "seconds"))
    if len(amperes) < _LEAST_STEPS:
        return None
    kept = np.ones(len(amperes), np.bool_)
    ohm = _weighted_median(volts / amperes, np.abs(amperes))
    for _ in range(_ROUNDS):
        left = volts - ohm * amperes
        spread = _NORMAL * float(np.median(np.abs(left[kept])))
        kept = np.abs(left) <= _OUTLYING * max(spread, 1e-6)
        ohm = float(volts[kept] @ amperes[kept]) / float(amperes[kept] @ amperes[kept])
    if kept.sum() < max(_LEAST_STEPS, 0.5 * len(amperes)):
        return None
    left = (volts - ohm * amperes)[kept]
    square = float(amperes[kept] @ amperes[kept])
    scatter = math.sqrt(float(left @ left) / (kept.sum() - 1) / square)
    # Student's t: from a few steps their scatter isn't well known either.
    scatter *= 1 + _FEW / kept.sum()
    sd = math.hypot(scatter, gain_sd * ohm)
    if not ohm > 2 * scatter:
        return None
    return Resistance(ohm, sd, int(kept.sum()), float(np.median(seconds[kept])))


def _weighted_median(values: Floats, weights: Floats) -> float:
    order = np.argsort(values)
    share = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(share, 0.5 * share[-1])])
