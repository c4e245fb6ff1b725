"""Judge of the advised input limit: replayed on days that it didn't see, it must trip as seldom as it says.

A plant is recorded for a day with two runs under a cautious limit. The advised limit, and every other one, is then
set in the same plant with the habits of other seeds, one run a day from a low battery to the target. The best limit
by brute force is the quickest that trips on none of some days.

Run: PYTHONPATH=tests/shared python tests/bench/judge_advice.py --plants 10 --seed 1
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from judging import arguments, interval, line, save, simulated, site_of, spread, with_steps, worked
from random_plants import random_plant

from desktop.charging.advice.advice import advise
from desktop.charging.advice.evidence import shown_by
from desktop.charging.stops import Stops
from desktop.review.reviewing import review
from desktop.site import Site
from drivers.plant.plant import Plant
from drivers.plant.scenario import Order, Scenario
from recordings.recording import Recording

DAYS, BRUTE_DAYS = 20, 10
SLOWER = 1.10
MOST_RUN_S = 8 * 3600.0
COARSE_S, FINE_S = 5.0, 0.5
TRIPS = ("overload_trip", "underspeed_trip")
SHARES = (0.5, 0.6, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95, 1.0, 1.05)


@dataclass(frozen=True, slots=True)
class Case:
    """One plant. Limits as shares of full load; runs as (tripped, hours to the target)."""

    seed: int
    about: str
    advised: float
    chance: float
    days: tuple[tuple[bool, float], ...]
    best: float
    best_hours: float
    hours: float

    @property
    def trips(self) -> int:
        return sum(tripped for tripped, _ in self.days)

    @property
    def as_said(self) -> bool:
        """Not so many trips that the stated chance is ruled out."""
        return interval(self.trips, len(self.days))[0] <= self.chance

    @property
    def quick(self) -> bool:
        return self.hours <= SLOWER * self.best_hours

    def __str__(self) -> str:
        return (
            f"{self.seed} | advised {self.advised:.2f} of full load, chance {self.chance:.1%} | "
            f"{self.trips}/{len(self.days)} trips | {self.hours:.2f} h against {self.best_hours:.2f} h at best, "
            f"{self.best:.2f} | {self.about}"
        )


def plant_of(seed: int) -> Scenario:
    """A plant with a slow charger and big appliances, recorded for a day."""
    scenario = random_plant(
        seed,
        hours=24.0,
        ending="overload",
        interval_s=random.Random(f"advice {seed}").choice((1.0, 2.0, 5.0)),
        solar=False,
    )
    generator, battery = scenario.generator, scenario.battery
    if generator is None:
        raise ValueError("a plant without a generator")
    begin = scenario.place.start.replace(hour=0, minute=0)
    orders = [
        Order.model_validate({"at": at, "do": deed})
        for at, deed in (
            ("07:00:00", "start"),
            ("09:30:00", "stop"),
            ("17:00:00", "start"),
            ("19:30:00", "stop"),
        )
    ]
    channels = {*scenario.log.channels, "generator_power", "load_power", "battery_soc", "battery_power"}
    return scenario.model_copy(
        update={
            "place": scenario.place.model_copy(update={"start": begin}),
            "generator": generator.model_copy(update={"tank": 4000.0, "tank_percent": 100.0}),
            "input": scenario.input.model_copy(
                update={"limit_a": round(0.7 * generator.rated_w / generator.volts / scenario.legs, 1)}
            ),
            "battery": battery.model_copy(update={"soc": 35.0, "target_soc": 80.0}),
            "order": tuple(orders),
            "log": scenario.log.model_copy(update={"channels": tuple(sorted(channels))}),
        }
    )


def a_day(scenario: Scenario, limit_a: float, seed: int) -> tuple[bool, float]:
    """One run from a low battery to the target: whether it tripped, and hours to the target (inf where never)."""
    draw = random.Random(f"day {seed}")
    begin = scenario.place.start + timedelta(days=1 + seed % 20, minutes=draw.randrange(6 * 60, 18 * 60))
    onward = scenario.model_copy(
        update={
            "place": scenario.place.model_copy(update={"start": begin}),
            "input": scenario.input.model_copy(update={"limit_a": limit_a}),
            "order": (),
        }
    )
    plant = Plant(onward, seed)
    plant.start_generator()
    while plant.now < MOST_RUN_S and plant.battery.soc < scenario.battery.target_soc:
        plant.step(plant.step_s)
        if any(event.kind in TRIPS for event in plant.events[-4:]):
            return True, np.inf
    return False, plant.now / 3600.0 if plant.battery.soc >= scenario.battery.target_soc else np.inf


def judge(seed: int) -> Case | str:
    """One plant, or why there is no advice."""
    scenario = plant_of(seed)
    generator = scenario.generator
    if generator is None:
        return "no generator"
    full_a = generator.rated_w / generator.volts / scenario.legs
    with with_steps(COARSE_S, FINE_S):
        recorded = simulated(scenario, f"{COARSE_S} {FINE_S}")
        site = site_of(recorded.site_toml)
        battery = scenario.battery
        need_wh = battery.capacity_kwh * 10.0 * (battery.target_soc - battery.soc)
        found = _advised(recorded.recording, site, need_wh)
        if isinstance(found, str):
            return f"{seed} | no advice: {found}"
        limit, chance = found
        days = tuple(a_day(scenario, limit, 5000 + 50 * seed + n) for n in range(DAYS))
        unseen = range(9000 + 50 * seed, 9000 + 50 * seed + BRUTE_DAYS)
        hours = _hours([a_day(scenario, limit, day) for day in unseen])
        best, best_hours = _best(scenario, full_a, limit, hours, unseen)
    ended = [event.kind for event in recorded.events if event.kind in TRIPS]
    about = (
        f"{generator.rated_w:g} W, {scenario.legs} legs, back-off {scenario.charger.back_off_s} s, "
        f"capability {generator.capability}, trip {generator.trip_s}, every {scenario.log.interval_s:g} s, "
        f"{len(ended)} trips recorded"
    )
    return Case(seed, about, limit / full_a, chance, days, best, best_hours, hours)


def _best(
    scenario: Scenario, full_a: float, limit: float, hours: float, unseen: Sequence[int]
) -> tuple[float, float]:
    """The quickest limit that never trips on these days, as a share of full load, and its hours."""
    best, best_hours = limit / full_a, hours
    for share in SHARES:
        if share * full_a <= limit:
            continue
        runs = []
        for day in unseen:
            runs.append(a_day(scenario, share * full_a, day))
            if runs[-1][0]:
                return best, best_hours
        if _hours(runs) < best_hours:
            best, best_hours = share, _hours(runs)
    return best, best_hours


def _hours(runs: list[tuple[bool, float]]) -> float:
    """Mean over the runs that came to their target."""
    done = [hours for _, hours in runs if np.isfinite(hours)]
    return float(np.mean(done)) if done else np.inf


def _advised(recording: Recording, site: Site, need_wh: float) -> tuple[float, float] | str:
    """(limit A, chance of tripping in a run), or why there is none."""
    of = review(recording, site)
    stops = Stops(of.learned, site)
    for block in worked(recording, site)[1]:
        stops.extend(block)
    trips = tuple(halt.stopped for halt in stops.halts if halt.reason == "overload")
    shown = shown_by(recording, of.stream("load"), of.stream("generator"), of.learned, site, trips, need_wh)
    advice = advise(shown, of.learned, site)
    return str(advice.unknown) if advice.best is None else (advice.best.limit_a, advice.best.chance)


def main() -> None:
    """Judge, print, save."""
    given = arguments(__doc__ or "", 10)
    found = list(spread(judge, range(given.seed, given.seed + given.plants)))
    cases = [case for case in found if isinstance(case, Case)]
    line("something is advised", len(cases), len(found))
    line(
        "trips no oftener than its stated chance", sum(case.as_said for case in cases), len(cases), least=0.95
    )
    trips, runs = sum(case.trips for case in cases), sum(len(case.days) for case in cases)
    stated = float(np.mean([case.chance for case in cases])) if cases else np.nan
    line(f"  all unseen days together (stated: {stated:.1%})", trips, runs, most=stated)
    line(
        "takes at most 10 % longer than the best limit",
        sum(case.quick for case in cases),
        len(cases),
        least=0.95,
    )
    for case in found:
        print(f"    {case}")
    save(given.cases, [case for case in found if isinstance(case, str) or not (case.as_said and case.quick)])


if __name__ == "__main__":
    main()
