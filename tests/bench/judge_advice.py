"""Judge of the advised input limit: replayed on days that it didn't see, it must trip as seldom as it says.

A plant is recorded for a day with two runs under a cautious limit. The advised limit, and every other one, is then
set in the same plant with the habits of other seeds, one run a day from a low battery to the target.

The best limit by brute force is what somebody would choose who knew all those days beforehand and took no more
risk than the advice says it takes: the quickest limit that trips on no larger share of the same days than the
advice states as its chance, or than MOST_SHARE where that is lower. It lies no higher than what the generator
can carry where it stands: that is the maker's limit, and nobody who knows the trade sets more. There are so
many days because a limit that often trips comes through a few of them by luck. A run that tripped has no hours:
those of two limits are compared on the days on which both came to the target. Where full load itself would be
hardly quicker, nothing else is tried.

Run: PYTHONPATH=tests/shared python tests/bench/judge_advice.py --plants 10 --seed 1
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from judging import arguments, interval, line, save, simulated, site_of, spread, with_steps, worked
from random_plants import random_plant

from desktop.charging.advice.advice import advise
from desktop.charging.advice.evidence import shown_by
from desktop.charging.advice.settings import Setting
from desktop.charging.derating import rated_w
from desktop.charging.stops import Stops
from desktop.review.reviewing import review
from desktop.site import Site
from drivers.plant.plant import Plant
from drivers.plant.scenario import Order, Scenario
from recordings.recording import Recording

DAYS = 40
MOST_SHARE = 0.05
SLOWER = 1.10
MOST_RUN_S = 8 * 3600.0
COARSE_S, FINE_S = 5.0, 0.5
TRIPS = ("overload_trip", "underspeed_trip")
SHARES = (0.5, 0.6, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95, 1.0)

Runs = tuple[tuple[bool, float], ...]


@dataclass(frozen=True, slots=True)
class Case:
    """One plant. Limits as shares of full load; runs as (tripped, hours to the target).

    likely, chance    of a trip in a run, as is to be expected, and as is stated not to be exceeded
    best, best_hours, hours   the best limit by brute force, and on the same days its mean hours and the advised's
    """

    seed: int
    about: str
    advised: float
    likely: float
    chance: float
    days: Runs
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
            f"{self.seed} | advised {self.advised:.2f} of full load, "
            f"chance {self.likely:.1%}, at most {self.chance:.1%} | "
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
    with with_steps(COARSE_S, FINE_S):
        recorded = simulated(scenario, f"{COARSE_S} {FINE_S}")
        site = site_of(recorded.site_toml)
        battery = scenario.battery
        need_wh = battery.capacity_kwh * 10.0 * (battery.target_soc - battery.soc)
        found = _advised(recorded.recording, site, need_wh)
        if isinstance(found, str):
            return f"{seed} | no advice: {found}"
        full_a = rated_w(site) / generator.volts / scenario.legs
        unseen = Unseen(scenario, tuple(range(9000 + 50 * seed, 9000 + 50 * seed + DAYS)))
        days = unseen.runs(found.limit_a)
        best_a, best_days = _best(unseen, found, days, full_a)
    best_hours, hours = hours_of(best_days, days)
    ended = [event.kind for event in recorded.events if event.kind in TRIPS]
    about = (
        f"{generator.rated_w:g} W, {scenario.legs} legs, back-off {scenario.charger.back_off_s} s, "
        f"capability {generator.capability}, trip {generator.trip_s}, every {scenario.log.interval_s:g} s, "
        f"{len(ended)} trips recorded"
    )
    return Case(
        seed,
        about,
        found.limit_a / full_a,
        found.likely,
        found.chance,
        days,
        best_a / full_a,
        best_hours,
        hours,
    )


@dataclass(frozen=True, slots=True)
class Unseen:
    """A plant, and days of it that the advice didn't see, by their seeds."""

    scenario: Scenario
    seeds: tuple[int, ...]

    def runs(self, limit_a: float) -> Runs:
        """What becomes of every day under a limit."""
        return tuple(a_day(self.scenario, limit_a, seed) for seed in self.seeds)

    def tried(self, limit_a: float, most: float) -> Runs | None:
        """The same, or None as soon as more of them have tripped than may."""
        runs: list[tuple[bool, float]] = []
        for seed in self.seeds:
            runs.append(a_day(self.scenario, limit_a, seed))
            if sum(tripped for tripped, _ in runs) > most:
                return None
        return tuple(runs)


def hours_of(one: Runs, other: Runs) -> tuple[float, float]:
    """The mean hours of each on the days on which both came to the target; infinite where there is none."""
    both = [(a, b) for (_, a), (_, b) in zip(one, other, strict=True) if np.isfinite(a) and np.isfinite(b)]
    if not both:
        return np.inf, np.inf
    first, second = np.array(both).mean(axis=0).tolist()
    return first, second


def _best(unseen: Unseen, advised: Setting, days: Runs, full_a: float) -> tuple[float, Runs]:
    """The quickest limit, A, that trips on no more of the days than it may, and what became of them under it.

    Higher limits are quicker and trip more: they are tried from below until one trips too often.
    """
    best = advised.limit_a, days
    if _hardly_quicker(unseen.runs(full_a), days):
        return best
    most = min(advised.chance, MOST_SHARE) * len(unseen.seeds)
    for share in SHARES:
        if share * full_a <= advised.limit_a:
            continue
        runs = unseen.tried(share * full_a, most)
        if runs is None:
            return best
        quicker, slower = hours_of(runs, best[1])
        if quicker < slower:
            best = share * full_a, runs
    return best


def _hardly_quicker(runs: Runs, days: Runs) -> bool:
    quickest, hours = hours_of(runs, days)
    return np.isfinite(quickest) and hours <= SLOWER * quickest


def _advised(recording: Recording, site: Site, need_wh: float) -> Setting | str:
    """The setting, or why there is none."""
    of = review(recording, site)
    stops = Stops(of.learned, site)
    for block in worked(recording, site)[1]:
        stops.extend(block)
    trips = tuple(halt.stopped for halt in stops.halts if halt.reason == "overload")
    shown = shown_by(recording, of.stream("load"), of.stream("generator"), of.learned, site, trips, need_wh)
    advice = advise(shown, of.learned, site)
    return str(advice.unknown) if advice.best is None else advice.best


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
    likely, stated = (
        float(np.mean([(case.likely, case.chance)[number] for case in cases])) if cases else np.nan
        for number in (0, 1)
    )
    line(f"  all unseen days (stated: {likely:.1%}, at most {stated:.1%})", trips, runs, most=likely)
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
