"""The course in time of what no meter sees: it goes on as it was, wandering at some pace, or starts anew."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.robust import TAILS, losses

Floats = NDArray[np.float64]

_PACES = np.array([0.0, 0.1, 0.3, 1.0, 3.0, 10.0])[:, None]
"""By how many standard deviations of a balance it may wander from one cell to the next."""

_ANEW = np.array([0.01, 0.05, 0.2])[None, :]
"""How often it may start anew, a share of the cells."""

_CHOICE = float(np.log(_PACES.size * _ANEW.size))
_HALF = float(np.log(2.0))
_LONGEST = 60.0


@dataclass(frozen=True, slots=True)
class Track:
    """What explains best what is seen.

    cost   half of minus two log-likelihoods, on the scale of those of a robust fit
    flows  (r,) W, what flows by what was seen until then
    """

    cost: float
    flows: Floats


@dataclass(frozen=True, slots=True)
class Seen:
    """What balances say of one hidden flow, in order of time. r cells.

    power   (r,) W
    sigma   (r,) W, one standard deviation
    weight  (r,) how much a cell counts
    gap     (r,) how many cells lie between it and the one before
    price   (r,) what it costs to start anywhere: the log of how many deviations it might have been
    side    +1 where it can't be negative, −1 where it can't be positive, 0 where it may be either
    """

    power: Floats
    sigma: Floats
    weight: Floats
    gap: Floats
    price: Floats
    side: float


def tracked(seen: Seen) -> Track:
    """The likeliest of all paces, each cell judged by those before it; outliers aren't followed."""
    wander = np.minimum(seen.gap, _LONGEST)[:, None, None] * (_PACES * float(np.median(seen.sigma))) ** 2
    stray = -losses(seen.power / seen.sigma)
    impossible = seen.side * seen.power < 0
    anywhere = np.where(impossible, -np.inf, -seen.price - _HALF)
    anew = np.logaddexp(stray - _HALF, anywhere)
    first = np.where(stray - _HALF > anywhere, 0.0, seen.power)
    first_variance = np.where(stray - _HALF > anywhere, 0.0, seen.sigma**2)
    most = np.where(impossible, stray, np.inf)
    shape = np.broadcast_shapes(_PACES.shape, _ANEW.shape)
    total = np.full(shape, -float(seen.weight[0] * anew[0]))
    level, variance = np.full(shape, first[0]), np.full(shape, first_variance[0])
    flows = np.empty((len(seen.power), *shape))
    flows[0] = level
    for cell in range(1, len(seen.power)):
        noise = seen.sigma[cell] ** 2
        variance = variance + wander[cell]
        off = seen.power[cell] - level
        z2 = off**2 / (variance + noise)
        goes_on = -(TAILS + 1) / 2 * np.log1p(z2 / TAILS) - 0.5 * np.log1p(variance / noise)
        goes_on = np.log1p(-_ANEW) + np.minimum(goes_on, most[cell])
        starts = np.log(_ANEW) + anew[cell]
        total -= seen.weight[cell] * np.logaddexp(goes_on, starts)
        believed = np.minimum(1.0, (TAILS + 1) / (TAILS + z2))
        share = variance / (variance + noise / believed)
        level = np.where(goes_on > starts, level + share * off, first[cell])
        variance = np.where(goes_on > starts, variance * (1 - share), first_variance[cell])
        if seen.side:
            level = seen.side * np.maximum(seen.side * level, 0.0)
        flows[cell] = level
    best = int(np.argmin(total))
    return Track(float(total.flat[best]) + _CHOICE, flows.reshape(len(flows), -1)[:, best])
