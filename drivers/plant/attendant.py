"""Who minds the plant: orders given by hand, and the automatic start and stop of the generator."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drivers.plant.clock import Clock
from drivers.plant.scenario import Order, Scenario

if TYPE_CHECKING:
    from drivers.plant.plant import Plant

_LOOK_S = 5.0


class Attendant:
    """Looks at the plant and the clock, and acts."""

    def __init__(self, scenario: Scenario, clock: Clock) -> None:
        timed = [(clock.seconds(order.at, order.day), order) for order in scenario.order]
        self._orders = sorted(timed, key=lambda pair: pair[0], reverse=True)
        self._auto, self._clock = scenario.auto, clock
        self._grid_gone_s = self._grid_back_s = 0.0
        self._next_look = 0.0
        self._started = False

    def act(self, plant: Plant, now: float) -> None:
        """Do what is due at `now` (s)."""
        while self._orders and self._orders[-1][0] <= now:
            self._obey(self._orders.pop()[1], plant)
        if now >= self._next_look:
            self._next_look = now + _LOOK_S
            self._mind_charge(plant, now)
            self._mind_grid(plant)

    def _obey(self, order: Order, plant: Plant) -> None:
        plant.tell(order.do, order.value, "order")
        match order.do:
            case "start":
                plant.start_generator()
            case "stop":
                plant.stop_generator()
            case "kill":
                plant.kill_generator()
            case "input_limit":
                plant.input_limit_a = order.value
            case "charge_limit":
                plant.charge_limit_a = order.value
            case "charger":
                plant.charger_enabled = order.value > 0.0
            case "grid":
                plant.grid_live = order.value > 0.0

    def _mind_charge(self, plant: Plant, now: float) -> None:
        auto = self._auto
        if auto.stop_soc is not None and self._started and plant.battery.soc >= auto.stop_soc:
            self._started = False
            plant.stop_generator()
        if auto.start_soc is None or plant.generator_turning or plant.battery.soc > auto.start_soc:
            return
        if auto.since <= self._clock.local(now).time() <= auto.until:
            self._started = True
            plant.start_generator()

    def _mind_grid(self, plant: Plant) -> None:
        auto = self._auto
        if auto.grid_lost_s is None:
            return
        self._grid_gone_s = 0.0 if plant.grid_live else self._grid_gone_s + _LOOK_S
        self._grid_back_s = self._grid_back_s + _LOOK_S if plant.grid_live else 0.0
        if self._grid_gone_s > auto.grid_lost_s and not plant.generator_turning:
            plant.start_generator()
        if self._grid_back_s > auto.grid_back_s and plant.generator_turning:
            plant.stop_generator()
