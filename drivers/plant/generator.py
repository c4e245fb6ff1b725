"""A generating set: engine, alternator, breaker and tank, and the course from cranking to standstill."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from typing import Literal

from drivers.plant.breaker import Breaker
from drivers.plant.engine import Engine
from drivers.plant.scenario_parts import Generator as Numbers
from drivers.plant.tank import Tank

State = Literal["off", "cranking", "running", "cooling", "coasting"]
Told = Callable[[str, float, str], None]

_UNDERSPEED = 0.88
_UNDERSPEED_S = 1.0
_RUN_UP_S = 2.5
_COAST_S = 1.8
_AVR_LAG_S = 0.25
_ROLL_OFF = 0.94
_HUNT_S = 1.2
_WARM_HUNT = 0.0004
_COLD_HUNT = 0.004


class Generator:
    """Frequency Hz, voltage leg to neutral V. `tell(kind, value, what)` hears of everything that happens."""

    def __init__(self, numbers: Numbers, legs: int, noise: random.Random, tell: Told) -> None:
        self.numbers = numbers
        self.engine = Engine(numbers.droop)
        self.breaker = Breaker(numbers.trip_s)
        left = numbers.tank * numbers.tank_percent / 100.0
        self.tank = Tank(numbers.tank, left, numbers.fuel_half_load, numbers.fuel_full_load)
        self.state: State = "off"
        self.voltage = 0.0
        self.rated_leg_a = numbers.rated_w / legs / numbers.volts
        self._noise, self._tell = noise, tell
        self._since = 0.0
        self._slow_s = 0.0
        self._cold = 1.0
        self._hunt = 0.0
        self._share = 1.0
        no_load = numbers.no_load_hz / numbers.hz if numbers.no_load_hz else 1.0 + numbers.droop
        self._setting = no_load

    @property
    def frequency(self) -> float:
        """At the terminals, Hz; 0 at standstill."""
        return self.engine.speed * self.numbers.hz if self.engine.speed > 0.05 else 0.0

    @property
    def turning(self) -> bool:
        """True from the first turn to standstill."""
        return self.state != "off"

    @property
    def live(self) -> bool:
        """True while there is a voltage to connect to."""
        return self.state == "running" and self.voltage > 0.5 * self.numbers.volts

    def start(self) -> None:
        """Crank. Does nothing while it turns or without fuel."""
        if self.state in ("off", "coasting") and self.tank.left > 0.0:
            self.breaker.reset()
            self._go("cranking", "crank")

    def let_down(self) -> None:
        """Run on without load, then stop. The load must have been taken off before."""
        if self.state == "running":
            self._go("cooling", "cool_down")
        elif self.state == "cranking":
            self._go("coasting", "stop")

    def kill(self, why: str = "kill") -> None:
        """Stop at once, loaded or not."""
        if self.state not in ("off", "coasting"):
            self._go("coasting", why)

    def _go(self, state: State, why: str) -> None:
        self.state, self._since, self._slow_s = state, 0.0, 0.0
        self._tell(why, self.tank.percent, "")

    def run(self, power_w: float, leg_a: float, dt: float) -> None:
        """Go on for `dt` seconds while giving `power_w`, with `leg_a` on the busiest leg."""
        if self.state == "off":
            return
        self._since += dt
        if self.state == "cranking":
            self._crank(dt)
        elif self.state == "coasting":
            self._coast(dt)
        else:
            self._carry(power_w / self.numbers.rated_w, leg_a, dt)
        self._excite(power_w / self.numbers.rated_w, dt)

    def _crank(self, dt: float) -> None:
        past = self._since - self.numbers.crank_s
        if past <= 0.0:
            self.engine.speed = 0.12
            return
        self.engine.speed += (1.0 - self.engine.speed) * -math.expm1(-3.0 * dt / _RUN_UP_S)
        self.engine.power = 0.0
        if past >= _RUN_UP_S:
            self._go("running", "running")

    def _coast(self, dt: float) -> None:
        self.engine.speed *= math.exp(-dt / _COAST_S)
        if self.engine.speed < 0.04:
            self.engine.speed = self.engine.power = self.voltage = 0.0
            self._go("off", "standstill")

    def _carry(self, load: float, leg_a: float, dt: float) -> None:
        warm_s = self.numbers.warm_up_s
        self._cold *= math.exp(-3.0 * dt / warm_s)
        self._hunt += -self._hunt * min(1.0, dt / _HUNT_S) + self._noise.uniform(-1.0, 1.0) * math.sqrt(
            min(1.0, dt / _HUNT_S)
        )
        wander = (_WARM_HUNT + _COLD_HUNT * self._cold) * self._hunt
        reference = self._setting - self.numbers.cold_dip * self._cold + wander
        self._share = self.tank.burn(load, dt)
        self.engine.turn(load, self.numbers.capability * self._share, reference, dt)
        if self.breaker.carry(leg_a / self.rated_leg_a, dt):
            self.kill("overload_trip")
            return
        self._slow_s = self._slow_s + dt if self.engine.speed < _UNDERSPEED else 0.0
        if self._slow_s >= _UNDERSPEED_S:
            self.kill("out_of_fuel" if self.tank.left <= 0.0 else "underspeed_trip")
        elif self.state == "cooling" and self._since >= self.numbers.cool_down_s:
            self._go("coasting", "stop")

    def _excite(self, load: float, dt: float) -> None:
        speed = self.engine.speed
        if self.state == "off":
            return
        wanted = self.numbers.volts * (1.0 - self.numbers.voltage_drop * load)
        if speed < 0.5:
            wanted *= 0.05 * speed
        elif speed < _ROLL_OFF:
            wanted *= speed / _ROLL_OFF
        self.voltage += (wanted - self.voltage) * -math.expm1(-dt / _AVR_LAG_S)

    def cool_engine(self, dt: float) -> None:
        """Stand still for `dt` seconds: what was warm gets cold again."""
        if self.state == "off" and self._cold < 1.0:
            self._cold = min(1.0, self._cold + dt / 7200.0)
