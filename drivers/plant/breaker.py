"""An overcurrent trip with an inverse-time curve: the further over, the sooner."""

from __future__ import annotations

_K = 80.0
"""Extremely inverse characteristic of IEC 60255-151: t = multiplier · 80 / (M² − 1), quoted from memory."""

_COOLING_S = 120.0


class Breaker:
    """Opens after `multiplier · 80 / (M² − 1)` seconds at M times the rated current.

    Varying overload adds up, and is forgotten slowly below the rating.
    """

    __slots__ = ("_multiplier", "heat")

    def __init__(self, multiplier: float) -> None:
        self._multiplier = multiplier
        self.heat = 0.0

    def carry(self, multiple: float, dt: float) -> bool:
        """Carry `multiple` of the rated current for `dt` seconds. True when it opens."""
        if multiple > 1.0:
            self.heat += dt * (multiple * multiple - 1.0) / (_K * self._multiplier)
        elif self.heat > 0.0:
            self.heat = max(0.0, self.heat - dt / _COOLING_S)
        return self.heat >= 1.0

    def reset(self) -> None:
        """Close again, cold."""
        self.heat = 0.0
