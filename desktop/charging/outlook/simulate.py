"""The plant carried on over many days, for many runs and rules side by side: only time is stepped through.

All rules live through the same days, so that they differ by what they are and not by luck.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.outlook.days import Days
from desktop.charging.outlook.draw import Draws
from desktop.charging.outlook.plant import PlantFacts
from desktop.charging.outlook.plants import Plants
from desktop.charging.outlook.rule import SLOTS, Hours, Rule
from desktop.charging.outlook.step import STEP_H, Flags, Weather, step

Floats = NDArray[np.float64]

BOOKS = ("generator", "solar", "demand", "unserved", "cut", "lost", "change")
"""What is counted in each day, Wh: generator + solar = demand − unserved + cut + lost + change."""

SOC_EVERY = SLOTS // 24
"""Steps between two looks at the state of charge."""


@dataclass(slots=True)
class Course:
    """What came of it. Axes: rule, run, and where there is a third, day (or hour of all days).

    The generator goes on when the fuel at hand is gone, as if more had come: so what is told per day rests on all
    days, and when the fuel is gone is told beside it.

    books    by name of BOOKS: (rules, runs, days) Wh
    soc      (rules, runs, 24 · days) state of charge at the beginning of each hour, %
    hours    (rules, runs, days) for which the generator ran
    starts   (rules, runs, days)
    burnt    (rules, runs, days) fuel
    begun    (rules, 24) starts in each hour of the day, over all runs and days
    lasted   (rules, runs) days until the fuel at hand was gone; inf where it wasn't
    """

    books: dict[str, Floats]
    soc: NDArray[np.float32]
    hours: Floats
    starts: Floats
    burnt: Floats
    begun: Floats
    lasted: Floats

    @property
    def days(self) -> int:
        """That were worked through."""
        return int(self.hours.shape[2])


@dataclass(slots=True)
class _State:
    """Where all runs stand. `drift` is what the last step brought, `stored` and it Wh; the others as in Course."""

    stored: Floats
    drift: Floats
    on: Flags
    burnt: Floats
    lasted: Floats


def simulate(
    plant: PlantFacts,
    days: Days,
    draws: Draws,
    rules: Sequence[Rule],
    *,
    start_soc: float,
    quiet: Hours | None = None,
    overcast: float = 1.0,
    progress: Callable[[float], None] | None = None,
) -> Course:
    """Carry the plant on under each rule through the days that were drawn.

    start_soc  state of charge at the beginning, %
    quiet      hours in which the generator must not run
    overcast   the share of the recorded sun that comes
    progress   is told the share that is done, 0..1
    """
    horizon, runs = draws.day.shape
    shape = (len(rules), runs)
    course = _empty(shape, horizon)
    plants = Plants.of(plant, draws.doubts)
    state = _State(
        stored=np.broadcast_to(plants.capacity_wh * (start_soc / 100), shape),
        drift=np.zeros(shape),
        on=np.zeros(shape, bool),
        burnt=np.zeros(shape),
        lasted=course.lasted,
    )
    minder = _Minder(plants, rules, quiet)
    sky = _Sky(days, draws, overcast)
    for day in range(horizon):
        _day(plants, minder, sky, course, state, day)
        if progress is not None:
            progress((day + 1) / horizon)
    return course


def _empty(shape: tuple[int, int], horizon: int) -> Course:
    daily = (*shape, horizon)
    return Course(
        books={name: np.empty(daily) for name in BOOKS},
        soc=np.empty((*shape, 24 * horizon), np.float32),
        hours=np.empty(daily),
        starts=np.empty(daily),
        burnt=np.empty(daily),
        begun=np.zeros((shape[0], 24)),
        lasted=np.full(shape, np.inf),
    )


class _Sky:
    """What each run asks for and could have in each step."""

    def __init__(self, days: Days, draws: Draws, overcast: float) -> None:
        series = (days.load, days.dc_load, days.sun_dc, days.sun_ac)
        self._by_slot = [np.ascontiguousarray(one.T) if one.any() else None for one in series]
        sun = draws.sun_factor * overcast
        self._factors = (draws.load_factor, draws.load_factor, sun, sun)
        self._day = draws.day
        self.fuel_factor = draws.fuel_factor
        self._none = np.zeros(draws.day.shape[1])

    def at(self, day: int, slot: int) -> Weather:
        """(runs,) each."""
        return Weather(
            *(
                self._none if one is None else one[slot].take(self._day[day]) * factor
                for one, factor in zip(self._by_slot, self._factors, strict=True)
            )
        )


class _Minder:
    """Starts and stops the generators."""

    def __init__(self, plants: Plants, rules: Sequence[Rule], quiet: Hours | None) -> None:
        pairs = [rule.thresholds(quiet) for rule in rules]
        # (SLOTS, rules, 1)
        self._start = np.stack([start for start, _ in pairs], axis=1)[:, :, None]
        self._stop = np.stack([stop for _, stop in pairs], axis=1)[:, :, None]
        self._per_wh = 100 / plants.capacity_wh
        generator = plants.usual.generator
        limits = np.array([[rule.limit_a] for rule in rules]) * generator.w_per_a
        self.limit_w: Floats = np.minimum(limits, generator.rated_w)

    def decide(self, slot: int, state: _State) -> Flags:
        """Where the generators run in this step becomes the state's; returns where one is started.

        Half of what the last step brought is looked ahead, so that a threshold is met at the nearest step.
        """
        level = (state.stored + 0.5 * state.drift) * self._per_wh
        going_on = state.on & (level < self._stop[slot])
        begun: Flags = (level <= self._start[slot]) & ~state.on
        state.on = going_on | begun
        return begun


def _day(plants: Plants, minder: _Minder, sky: _Sky, course: Course, state: _State, day: int) -> None:
    """Work a day through, and enter it into the course."""
    plant, per_wh = plants.usual, 100 / plants.capacity_wh
    shape = state.stored.shape
    before, burnt = state.stored, state.burnt
    sums = {name: np.zeros(shape) for name in ("generator", "unserved", "cut", "lost")}
    demand, solar = np.zeros(shape[1]), np.zeros(shape[1])
    starts, steps = np.zeros(shape), np.zeros(shape)
    for slot in range(SLOTS):
        if slot % SOC_EVERY == 0:
            hour = 24 * day + slot // SOC_EVERY
            course.soc[:, :, hour] = state.stored * per_wh
        weather = sky.at(day, slot)
        begun = minder.decide(slot, state)
        flows = step(plants, minder.limit_w, state.stored, state.on, weather)
        for name, total in sums.items():
            total += getattr(flows, name)
        demand += weather.load + weather.dc_load
        solar += weather.sun_dc + weather.sun_ac
        starts += begun
        course.begun[:, slot // SOC_EVERY] += np.count_nonzero(begun, axis=1)
        steps += state.on
        state.drift = flows.change * STEP_H
        state.stored = state.stored + state.drift
        _burn(plant, state, begun, flows.generator, sky.fuel_factor, day + slot / SLOTS)
    for name, amount in (*sums.items(), ("demand", demand), ("solar", solar)):
        course.books[name][:, :, day] = amount * STEP_H
    course.books["change"][:, :, day] = state.stored - before
    course.starts[:, :, day] = starts
    course.hours[:, :, day] = steps * STEP_H + starts * (plant.generator.unloaded_s / 3600)
    course.burnt[:, :, day] = state.burnt - burnt


def _burn(
    plant: PlantFacts, state: _State, begun: Flags, generator: Floats, fuel_factor: Floats, now: float
) -> None:
    set_, curve = plant.generator, plant.generator.curve
    hours = state.on * STEP_H
    if begun.any():
        hours += begun * (set_.unloaded_s / 3600)
    wanted = (curve.idle * hours + (curve.per_kwh / 1000 * STEP_H) * generator) * fuel_factor
    before, state.burnt = state.burnt, state.burnt + wanted
    ends = (state.burnt >= set_.store) & (before < set_.store)
    if ends.any():
        state.lasted[ends] = now + (set_.store - before[ends]) / wanted[ends] / SLOTS
