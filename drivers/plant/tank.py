"""Fuel: what the engine burns, and what the tank still holds."""

from __future__ import annotations

import math

_STARVING_S = 9.0
_SURGE_S = 1.7


class Tank:
    """Litres (m³ for natural gas). Use is a straight line through half and full load.

    When the tank is empty the engine surges on what is left in the pipe for some seconds, and dies.
    """

    __slots__ = ("_idle", "_slope", "_starved_s", "burnt", "capacity", "left")

    def __init__(self, capacity: float, left: float, half_load: float, full_load: float) -> None:
        self.capacity = capacity
        self.left = left
        self.burnt = 0.0
        self._slope = 2.0 * (full_load - half_load)
        self._idle = full_load - self._slope
        self._starved_s = 0.0

    @property
    def percent(self) -> float:
        """What is left, percent of the tank."""
        return 100.0 * self.left / self.capacity

    def rate(self, load: float) -> float:
        """Use per hour at a load per unit of the rating."""
        return self._idle + self._slope * load

    def burn(self, load: float, dt: float) -> float:
        """Burn for `dt` seconds. Gives the share of its capability that the engine has, 0..1."""
        used = min(self.left, self.rate(load) * dt / 3600.0)
        self.left -= used
        self.burnt += used
        if self.left > 0.0:
            self._starved_s = 0.0
            return 1.0
        self._starved_s += dt
        surge = 0.12 * math.sin(2.0 * math.pi * self._starved_s / _SURGE_S)
        return max(0.0, min(1.0, 1.05 - self._starved_s / _STARVING_S + surge))
