"""The house: what all appliances together draw on each leg."""

from __future__ import annotations

import heapq
import random
from collections.abc import Callable

from drivers.plant.appliances import Pieces, base, cyclic, now_and_then, scheduled
from drivers.plant.clock import Clock
from drivers.plant.scenario import Scenario
from drivers.plant.scenario_parts import Appliance

Told = Callable[[str, float, str], None]

LOAD_STEP_W = 800.0
"""From this size on switching something on is worth telling."""


class Loads:
    """A number of loads that change by themselves. `legs` holds what they draw per leg, W.

    Only what changes is looked at, so that a step costs nothing while nothing changes.
    """

    def __init__(self, legs: int, tell: Told) -> None:
        self.legs = [0.0] * legs
        self._tell = tell
        self._pieces: list[Pieces] = []
        self._watts: list[float] = []
        self._leg: list[int] = []
        self._names: list[str] = []
        self._due: list[tuple[float, int]] = []

    def add(self, name: str, leg: int, pieces: Pieces) -> None:
        """Put a load on a leg, counted from 1; 0 spreads it over all legs."""
        length, watts = next(pieces)
        self._pieces.append(pieces)
        self._watts.append(watts)
        self._leg.append(leg)
        self._names.append(name)
        heapq.heappush(self._due, (length, len(self._pieces) - 1))
        self._sum()

    def advance(self, now: float) -> list[float]:
        """Go on to `now` (s), and give what is drawn per leg, W."""
        if self._due and self._due[0][0] <= now:
            while self._due[0][0] <= now:
                self._change(*heapq.heappop(self._due))
            self._sum()
        return self.legs

    def _change(self, due: float, number: int) -> None:
        length, watts = next(self._pieces[number])
        if watts - self._watts[number] >= LOAD_STEP_W:
            self._tell("load_step", watts - self._watts[number], self._names[number])
        self._watts[number] = watts
        heapq.heappush(self._due, (due + length, number))

    def _sum(self) -> None:
        # Summed anew each time: adding and taking off would leave crumbs.
        legs = [0.0] * len(self.legs)
        for watts, leg in zip(self._watts, self._leg, strict=True):
            if leg:
                legs[leg - 1] += watts
            else:
                for number in range(len(legs)):
                    legs[number] += watts / len(legs)
        self.legs = legs


def house(scenario: Scenario, clock: Clock, seed: int, tell: Told) -> Loads:
    """All AC loads of a scenario."""
    loads = Loads(scenario.legs, tell)
    watts = scenario.house.base_w
    for leg in range(scenario.legs):
        each = watts[leg] if len(watts) > 1 else watts[0] / scenario.legs
        loads.add("base", leg + 1, base(each, scenario.house.flicker, _noise(seed, f"base {leg}")))
    kinds: tuple[tuple[Appliance, Pieces], ...] = (
        *((a, cyclic(a, _noise(seed, a.name))) for a in scenario.cyclic),
        *((a, scheduled(a, clock)) for a in scenario.scheduled),
        *((a, now_and_then(a, clock, _noise(seed, a.name))) for a in scenario.random),
    )
    for appliance, pieces in kinds:
        loads.add(appliance.name, appliance.leg if scenario.legs > 1 else 1, pieces)
    return loads


def dc_loads(scenario: Scenario, seed: int, tell: Told) -> Loads | None:
    """The loads on the DC bus, None where there are none."""
    if scenario.dc_loads is None:
        return None
    loads = Loads(1, tell)
    numbers = scenario.dc_loads
    loads.add("DC loads", 1, base(numbers.base_w, numbers.flicker, _noise(seed, "DC loads")))
    return loads


def _noise(seed: int, name: str) -> random.Random:
    return random.Random(f"{seed} {name}")
