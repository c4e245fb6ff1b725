"""An engine with its governor: what speed it keeps under load."""

from __future__ import annotations

import math

_STEP_S = 0.05
_INERTIA_S = 2.0
_RACK_LAG_S = 0.1
_FRICTION = 0.06
_SETTLING_S = 0.3


class Engine:
    """Speed per unit of nominal, by the swing equation with a proportional governor behind a rack lag.

    A proportional governor has droop: steady speed is `reference − droop · load` as long as the engine can
    give what is asked. Torque is limited, so that power falls with speed, and an overloaded engine bogs down.

    droop  share of speed lost from no load to full load
    """

    __slots__ = ("_load", "droop", "power", "speed")

    def __init__(self, droop: float) -> None:
        self.droop = droop
        self.speed = 0.0
        self.power = 0.0
        self._load = 0.0

    def turn(self, load: float, capability: float, reference: float, dt: float) -> None:
        """Go on for `dt` seconds.

        load        electrical power per unit of the rating
        capability  what the engine can give to the load at nominal speed, per unit
        reference   the governor's setting, per unit of nominal speed
        """
        settled = reference - self.droop * load
        steady = abs(load - self._load) < 0.004 and abs(self.speed - settled) < 0.003
        self._load = load
        if steady and load < capability * settled:
            self.speed += (settled - self.speed) * -math.expm1(-dt / _SETTLING_S)
            self.power = load + _FRICTION
            return
        steps = max(1, round(dt / _STEP_S))
        self._swing(load, capability, reference, dt / steps, steps)

    def _swing(self, load: float, capability: float, reference: float, dt: float, steps: int) -> None:
        speed, power = self.speed, self.power
        for _ in range(steps):
            wanted = (reference - speed) / self.droop + _FRICTION
            most = (capability + _FRICTION) * speed
            wanted = 0.0 if wanted < 0.0 else most if wanted > most else wanted
            power += (wanted - power) * dt / (_RACK_LAG_S + dt)
            speed += (power - load - _FRICTION) / _INERTIA_S * dt
        self.speed, self.power = max(speed, 0.0), power
