"""Curves that are roughly known beforehand and learned where there are readings: Gaussian processes on a grid."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

GRID = np.arange(0.0, 100.1, 1.0)
"""States of charge at which a curve is kept, percent."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """How a curve's logarithm may differ from what is assumed of it, standard deviations.

    level   the same everywhere
    tilt    per 20 points of state of charge, around `pivot`
    shape   (grid,) in proportion to a given shape
    wiggle  by itself, over `reach` points
    """

    level: float
    tilt: float = 0.0
    pivot: float = 80.0
    shape: Floats = field(default_factory=lambda: np.zeros(len(GRID)))
    wiggle: float = 0.0
    reach: float = 6.0

    def covariance(self, a: Floats, b: Floats) -> Floats:
        """(len(a), len(b)) between two lists of states of charge."""
        tilt = np.outer(a - self.pivot, b - self.pivot) * (self.tilt / 20) ** 2
        shapes = np.outer(np.interp(a, GRID, self.shape), np.interp(b, GRID, self.shape))
        apart = (a[:, None] - b[None, :]) / self.reach
        near: Floats = self.level**2 + tilt + shapes + self.wiggle**2 * np.exp(-0.5 * apart**2)
        return near


@dataclass(frozen=True, slots=True)
class Seen:
    """What was read of a curve: state of charge, the logarithm read there less the assumed one, and its sd."""

    soc: Floats
    rest: Floats
    sd: Floats


@dataclass(frozen=True, slots=True)
class LogCurve:
    """The logarithm of a curve on GRID: its mean, and a root of its covariance."""

    mean: Floats
    root: Floats

    @classmethod
    def learned(cls, assumed: Floats, doubt: Doubt, seen: Seen) -> LogCurve:
        """assumed  (grid,) logarithms"""
        spread = doubt.covariance(GRID, GRID)
        if len(seen.soc):
            across = doubt.covariance(GRID, seen.soc)
            within = doubt.covariance(seen.soc, seen.soc) + np.diag(seen.sd**2)
            gain = np.linalg.solve(within, across.T).T
            assumed = assumed + gain @ seen.rest
            spread = spread - gain @ across.T
        hair = 1e-9 + 1e-9 * float(np.trace(spread))
        return cls(assumed, np.asarray(np.linalg.cholesky(spread + hair * np.eye(len(GRID))), np.float64))

    def at(self, soc: float) -> float:
        """The mean logarithm at a state of charge."""
        return float(np.interp(soc, GRID, self.mean))

    def drawn(self, count: int, chance: np.random.Generator) -> Floats:
        """(grid, count) curves, no logarithms."""
        # Not by a matrix product: on a busy machine its threads wait longer for each other than they work.
        off = np.einsum("ij,jk->ik", self.root, chance.standard_normal((len(GRID), count)))
        drawn: Floats = np.exp(self.mean[:, None] + off)
        return drawn
