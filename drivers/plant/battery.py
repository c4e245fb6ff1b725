"""A battery bank: rest voltage, a quick and a slow resistance, charge that is kept, warmth."""

from __future__ import annotations

import math

from drivers.plant.curve import Curve

_WARMTH_J_PER_KWH_K = 9_000.0
_LEAK_S = 6.0 * 3600.0


class Battery:
    """Power and current into the battery. `v` is at the terminals, `i` through them, `soc` in percent.

    ah           capacity
    rest         rest voltage of the bank over state of charge, V
    ohm          quick resistance while discharging
    growth       factor on it while charging, over state of charge
    slow_ohm, slow_s   resistance and time constant of the slow part
    efficiency   share of the charge put in that stays, over state of charge
    heat_j_k     warmth that one kelvin takes, J; it leaks to the room's `air_c`
    """

    def __init__(
        self,
        *,
        ah: float,
        rest: Curve,
        ohm: float,
        growth: Curve,
        efficiency: Curve,
        soc: float,
        slow_ohm: float = 0.0,
        slow_s: float = 60.0,
        heat_j_k: float = _WARMTH_J_PER_KWH_K * 10.0,
        air_c: float = 20.0,
    ) -> None:
        self.ah, self.ohm, self.soc = ah, ohm, soc
        self.temperature = self.air_c = air_c
        self.i = 0.0
        self._rest, self._growth, self._efficiency = rest, growth, efficiency
        self._slow_ohm, self._slow_s, self._slow_v = slow_ohm, slow_s, 0.0
        self._heat_j_k = heat_j_k
        self._look()
        self.v = self.e

    def _look(self) -> None:
        self.e = self._rest(self.soc) + self._slow_v
        self.ohm_in = self.ohm * self._growth(self.soc)

    def most_in(self, limit_v: float, limit_a: float) -> float:
        """The power that brings the terminals to `limit_v`, or the current to `limit_a`, W; never below 0."""
        amperes = (limit_v - self.e) / self.ohm_in
        if amperes <= 0.0 or limit_a <= 0.0:
            return 0.0
        amperes = min(amperes, limit_a)
        return amperes * (self.e + amperes * self.ohm_in)

    def most_out(self) -> float:
        """The power at which the terminals have lost a fifth of the rest voltage, W."""
        return 0.16 * self.e * self.e / self.ohm

    def take(self, power_w: float, dt: float) -> None:
        """Take this power for `dt` seconds; negative gives. Not more than `most_out` can be had."""
        e = self.e
        ohm = self.ohm_in if power_w > 0.0 else self.ohm
        root = math.sqrt(max(0.0, e * e + 4.0 * ohm * power_w))
        # The root's other form loses no digits where the drop is small beside the voltage.
        self.i = i = 2.0 * power_w / (e + root)
        self.v = e + i * ohm
        if self._slow_ohm:
            self._slow_v += (i * self._slow_ohm - self._slow_v) * -math.expm1(-dt / self._slow_s)
        kept = i * self._efficiency(self.soc) if i > 0.0 else i
        self.soc = min(100.0, max(0.0, self.soc + kept * dt / (36.0 * self.ah)))
        heat = i * i * self.ohm / self._heat_j_k - (self.temperature - self.air_c) / _LEAK_S
        self.temperature += heat * dt
        self._look()
