"""Capacity and charge efficiency from levels of the state of charge and what was counted between them.

What is kept is what went in times the efficiency, less what went out:

    capacity · soc = Σ efficiency_k · in_k − out + offset · time + start of the piece

where the unknowns are the capacity, an efficiency for each band k of the state of charge, the meter's offset, and
one start for each piece. Divided by the capacity it is linear in them, with the display's error alone on its left
side: so weighted least squares are without bias. What is known beforehand of the efficiency (by chemistry) and of
the offset (by the meter's class) enters as further rows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.chemistry import Chemistry
from desktop.charging.battery.levels import Levels, telling

Floats = NDArray[np.float64]

LEAD_BANDS = (0.0, 50.0, 70.0, 80.0, 90.0, 95.0, 100.0)
WHOLE_BAND = (0.0, 100.0)

_ANY_EFFICIENCY = np.array([0.98, 0.97, 0.95, 0.90, 0.80, 0.70])
_ANY_EFFICIENCY_SD = np.array([0.02, 0.03, 0.06, 0.10, 0.20, 0.25])
"""By LEAD_BANDS, where the chemistry isn't given: wide enough for every one."""

_GAUGE = 0.1
"""How well a gauge's own arithmetic holds together beyond its display, points, one standard deviation."""

_ROUNDS = 3
_WORST_SCATTER = 4.0
"""Levels that leave the fitted course by more than this many points on average tell of no capacity."""


@dataclass(frozen=True, slots=True)
class Prior:
    """What is known of the charge efficiency beforehand: band edges (percent), value and sd of each band."""

    edges: tuple[float, ...]
    value: Floats
    sd: Floats


@dataclass(frozen=True, slots=True)
class Fit:
    """The outcome. Capacity in the unit of what was counted (Ah or Wh), offset in that unit per hour.

    mean   (2 + k,) capacity, offset, efficiency of each band
    cov    (2 + k, 2 + k); a gain error of the meter, which is common to all of it, is not in it
    scatter  by how much the levels leave the fitted course, points, root mean square
    seen   (k,) share of each band that was passed while charging, 0..1
    """

    prior: Prior
    mean: Floats
    cov: Floats
    scatter: float
    seen: Floats

    @property
    def capacity(self) -> float:
        """Ah or Wh."""
        return float(self.mean[0])


def efficiency_prior(kind: Chemistry | None, *, energy: bool) -> Prior:
    """Charge efficiency known beforehand, of charge or of energy.

    For lead-acid it falls towards full: η = 1 − exp(20.73 / (I/I10 + 0.55) · (soc − 1)) at the ten-hour rate
    (Copetti, Lorenzo & Chenlo 1993, quoted from memory), good to a third of the loss, and not below a fifth.
    """
    if kind is None:
        return Prior(LEAD_BANDS, _ANY_EFFICIENCY, _ANY_EFFICIENCY_SD)
    if not kind.lead_acid:
        usual = kind.energy if energy else kind.coulombic
        return Prior(WHOLE_BAND, np.array([usual.value]), np.array([(usual.high - usual.low) / 4]))
    value = np.empty(len(LEAD_BANDS) - 1)
    for band, (low, high) in enumerate(pairwise(LEAD_BANDS)):
        soc = np.linspace(low, high, 21) / 100
        lasting = np.maximum(1 - np.exp(20.73 / 1.55 * (soc - 1)), 0.2)
        value[band] = 1 / np.mean(1 / lasting)
    sd = np.maximum(0.35 * (1 - value), 0.02)
    if energy:
        # The voltage while charging lies about a tenth above that while discharging (common practice).
        value, sd = 0.9 * value, np.hypot(sd, 0.04)
    return Prior(LEAD_BANDS, value, sd)


def fit(levels: Levels, prior: Prior, offset_sd: float, *, energy: bool) -> Fit | None:
    """Fit levels that are in order of time. None where they tell of no capacity.

    offset_sd  of the meter, in the unit of what is counted per hour (A or W)
    energy     counts Wh instead of Ah
    """
    counted_in = levels.wh_in if energy else levels.ah_in
    shares = _by_band(levels, counted_in, prior.edges)
    out, half_count = (levels.wh_out, levels.half_wh) if energy else (levels.ah_out, levels.half_ah)
    guess = _rough(levels, counted_in, out)
    if not guess > 0:
        return None
    columns = np.column_stack((-out, levels.at / 3600, shares))
    for _ in range(_ROUNDS):
        spread = np.hypot(np.sqrt(levels.half**2 / 3 + _GAUGE**2) / 100, half_count / math.sqrt(3.0) / guess)
        mean, cov, left = _solve(columns, levels.soc / 100, spread, levels.piece, prior, offset_sd, guess)
        if not mean[0] > 0:
            return None
        guess = 1 / float(mean[0])
    scatter = 100 * float(np.sqrt(np.mean(left**2)))
    if scatter > _WORST_SCATTER:
        return None
    # Neighbouring levels share their gauge's errors: they count for as many as are some points apart.
    alike = len(levels) / max(1, int(telling(levels).sum()))
    worse = alike * max(1.0, float(np.sum((left / spread) ** 2)) / max(1, len(levels) - len(mean)))
    mean, cov = _turned(mean, cov)
    return Fit(prior, mean, _widened(cov, prior, offset_sd, worse), scatter, _passed(levels, prior.edges))


def _solve(
    columns: Floats,
    soc: Floats,
    sd: Floats,
    piece: NDArray[np.int64],
    prior: Prior,
    offset_sd: float,
    guess: float,
) -> tuple[Floats, Floats, Floats]:
    """(mean, covariance, residuals); each piece's start is eliminated by centring.

    The unknowns are 1 / capacity, offset / capacity and each efficiency / capacity.
    """
    weight = 1 / sd**2
    _, number = np.unique(piece, return_inverse=True)
    design = np.column_stack([_centred(column, weight, number) for column in columns.T])
    target = _centred(soc, weight, number)
    # offset / capacity is about 0, and efficiency / capacity about so many times 1 / capacity.
    known = np.column_stack((np.zeros(1 + len(prior.value)), np.eye(1 + len(prior.value))))
    known[1:, 0] = -prior.value
    known *= guess / np.concatenate(([offset_sd], prior.sd))[:, None]
    normal = (design * weight[:, None]).T @ design + known.T @ known
    inverse = _inverse(normal)
    mean = inverse @ (design.T @ (weight * target))
    return mean, inverse, target - design @ mean


def _turned(mean: Floats, cov: Floats) -> tuple[Floats, Floats]:
    """From the unknowns of `_solve` to capacity, offset and efficiencies, with their covariance."""
    capacity = 1 / mean[0]
    turned = mean * capacity
    slope = np.eye(len(mean)) * capacity
    slope[:, 0] = -turned * capacity
    slope[0, 0] = -(capacity**2)
    turned[0] = capacity
    return turned, slope @ cov @ slope.T


def _widened(cov: Floats, prior: Prior, offset_sd: float, factor: float) -> Floats:
    """The covariance if what the levels tell is worth so many times less than it was taken for.

    What is known beforehand keeps its worth.
    """
    known = np.diag(np.concatenate(([0.0, 1 / offset_sd**2], 1 / prior.sd**2)))
    told = _inverse(cov) - known
    return _inverse(told / factor + known)


def _inverse(matrix: Floats) -> Floats:
    # Scaled to ones on the diagonal, so that ampere hours and shares can be solved together.
    scale = 1 / np.sqrt(np.maximum(np.diag(matrix), 1e-300))
    both = np.outer(scale, scale)
    inverse: Floats = np.linalg.pinv(matrix * both, hermitian=True) * both
    return inverse


def _rough(levels: Levels, counted_in: Floats, out: Floats) -> float:
    """Capacity by the net count alone; NaN where the state of charge didn't move."""
    _, number = np.unique(levels.piece, return_inverse=True)
    weight = np.ones(len(levels))
    soc, net = _centred(levels.soc / 100, weight, number), _centred(counted_in - out, weight, number)
    square = float(soc @ soc)
    return float(soc @ net) / square if square > 0 else math.nan


def _centred(values: Floats, weight: Floats, number: NDArray[np.intp]) -> Floats:
    """(n,) values less the weighted mean of those that have the same number."""
    middle: Floats = np.bincount(number, weight * values) / np.bincount(number, weight)
    return values - middle[number]


def _by_band(levels: Levels, counted_in: Floats, edges: tuple[float, ...]) -> Floats:
    """(n, k) what had gone in by each level, by the band in which it went in."""
    middle = 0.5 * (levels.soc[1:] + levels.soc[:-1])
    band = np.clip(np.searchsorted(edges, middle, side="right") - 1, 0, len(edges) - 2)
    steps = np.zeros((len(levels), len(edges) - 1))
    steps[np.arange(1, len(levels)), band] = np.diff(counted_in)
    total: Floats = np.cumsum(steps, axis=0)
    return total


def _passed(levels: Levels, edges: tuple[float, ...]) -> Floats:
    """(k,) share of each band that was passed upwards."""
    up = (np.diff(levels.piece) == 0) & (np.diff(levels.soc) > 0)
    low, high = levels.soc[:-1][up], levels.soc[1:][up]
    grid = np.linspace(0.5, 99.5, 100)
    order = np.argsort(low)
    reach = np.maximum.accumulate(high[order]) if high.size else high
    last = np.searchsorted(low[order], grid, side="right") - 1
    passed = np.where(last >= 0, reach[np.maximum(last, 0)] >= grid, False) if high.size else grid < 0
    band = np.searchsorted(edges, grid, side="right") - 1
    share: Floats = np.bincount(band, passed, len(edges) - 1) / np.bincount(band, minlength=len(edges) - 1)
    return share
