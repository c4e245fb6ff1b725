"""Appliances that were not yet seen in a house."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.forecast.view import View

Floats = NDArray[np.float64]

_AT_MOST = 2
_EACH_H, _FAMILIAR_H = 0.35, 2.0
_FOR_S, _FOR_SPREAD = 1200.0, 0.9
_SHARE, _SHARE_SPREAD = 0.2, 0.5
"""In a house that was never watched something unseen is switched on every third hour: a kettle, a pump, an oven. A
fifth of what a set gives, for minutes up to an hour (common practice, no source)."""
_ELSEWHERE = 0.3


@dataclass(frozen=True, slots=True)
class Strangers:
    """(k, paths): seconds from now at which each begins and ends, W, and W that it takes off the input limit."""

    begin: Floats
    end: Floats
    watts: Floats
    counts: Floats

    @classmethod
    def drawn(cls, view: View, legs: int, paths: int, chance: np.random.Generator) -> Strangers:
        """The shorter the house was watched, the likelier."""
        watched_h = (view.end - float(view.time[0])) / 3600e9
        each_s = 3600.0 * (1.0 + watched_h / _FAMILIAR_H) / _EACH_H
        shape = (_AT_MOST, paths)
        begin = np.cumsum(chance.exponential(each_s, shape), axis=0)
        end = begin + _FOR_S * np.exp(_FOR_SPREAD * chance.standard_normal(shape))
        source_w = float(np.nanquantile(view.source[view.session], 0.9))
        watts = _SHARE * source_w * np.exp(_SHARE_SPREAD * chance.standard_normal(shape))
        if legs == 1:
            return cls(begin, end, watts, watts)
        # Spread over all legs, or on one, that may be the busiest or not.
        where = chance.integers(0, legs + 1, shape)
        counts = watts * np.select([where == 0, where == 1], [1.0, float(legs)], _ELSEWHERE * legs)
        return cls(begin, end, watts, counts)

    def load(self, seconds: Floats) -> Floats:
        """(steps, paths) W."""
        return self._total(seconds, self.watts)

    def burden(self, seconds: Floats) -> Floats:
        """(steps, paths) W that they take off the input limit."""
        return self._total(seconds, self.counts)

    def _total(self, seconds: Floats, watts: Floats) -> Floats:
        at, total = seconds[:, None], np.zeros((len(seconds), watts.shape[1]))
        for first, last, power in zip(self.begin, self.end, watts, strict=True):
            if math.isfinite(float(first.min())) and float(first.min()) < float(seconds[-1]):
                total += np.where((at >= first) & (at < last), power, 0.0)
        return total
