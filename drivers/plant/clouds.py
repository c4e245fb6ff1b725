"""Clouds that pass before the sun."""

from __future__ import annotations

import random

from drivers.plant.scenario_parts import Solar

_EDGE_S = 20.0
_SHORTEST_S = 15.0


class Clouds:
    """How much of the light comes through, 0..1.

    Cloud and clear sky follow each other at random; the edge of a cloud takes some seconds to pass.
    """

    __slots__ = ("_clear_s", "_cloudy", "_noise", "_numbers", "_target", "_until", "through")

    def __init__(self, numbers: Solar, noise: random.Random) -> None:
        self._numbers, self._noise = numbers, noise
        cover = min(max(numbers.cover, 1e-9), 1.0)
        self._clear_s = numbers.passing_s * (1.0 - cover) / cover
        self._cloudy = noise.random() < numbers.cover
        self._until = 0.0
        self._target = 1.0
        self._turn(0.0)
        self.through = self._target

    def _turn(self, now: float) -> None:
        numbers, noise = self._numbers, self._noise
        mean = numbers.passing_s if self._cloudy else self._clear_s
        self._target = noise.uniform(*numbers.through) if self._cloudy else 1.0
        self._until = now + _SHORTEST_S + noise.expovariate(1.0 / max(mean, 1.0))

    def pass_by(self, now: float, dt: float) -> float:
        """Go on to `now`, `dt` seconds later, and give how much comes through."""
        if now >= self._until:
            self._cloudy = self._clear_s <= 0.0 or not self._cloudy
            self._turn(now)
        most = dt / _EDGE_S
        self.through += max(-most, min(most, self._target - self.through))
        return self.through
