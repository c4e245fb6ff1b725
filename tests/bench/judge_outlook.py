"""Judge of the outlook: days of fuel by a plan from two recorded weeks, beside the plant itself carried on.

The simulated plant is recorded for two weeks, and the plan asked how long a store of fuel lasts under the rule by
which it runs. Then the same plant, with the weather and the habits of other seeds, runs on from where the recording
ended until the store is empty: its median is the truth. As a store ends within a run, and the next run may be most
of a day away, several stores are asked for, and their errors averaged. Steps are longer than usual to keep that
affordable.

Run: PYTHONPATH=tests/shared python tests/bench/judge_outlook.py --plants 10 --seed 1
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from judging import arguments, line, save, simulated, site_of, spread, with_steps
from random_plants import random_plant

from desktop.charging.outlook.evidence import gather
from desktop.charging.outlook.planning import Wishes, plan
from drivers.plant.plant import Plant
from drivers.plant.scenario import Scenario
from drivers.plant.simulation import Simulation

RECORDED_DAYS = 14
OTHER_SEEDS = 5
STORES = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
MOST_DAYS = 25
WITHIN = 0.05
COARSE_S, FINE_S = 10.0, 2.0
LEAST_HOURS_A_DAY = 0.3


@dataclass(frozen=True, slots=True)
class Case:
    """One plant: for each store days of fuel (10, 50, 90 %) as planned, and all those that came."""

    seed: int
    about: str
    said: tuple[tuple[float, float, float], ...]
    hours_said: float
    hours_recorded: float
    came: tuple[tuple[float, ...], ...]

    @property
    def pairs(self) -> list[tuple[tuple[float, float, float], tuple[float, ...]]]:
        return list(zip(self.said, self.came, strict=True))

    @property
    def error(self) -> float:
        """Of the median, relative, averaged over the stores."""
        return float(np.mean([said[1] / np.median(came) - 1.0 for said, came in self.pairs]))

    @property
    def doubt(self) -> float:
        """Standard error of the medians that came, relative."""
        spreads = [1.25 * np.std(came) / np.sqrt(len(came)) / np.median(came) for came in self.came]
        return float(np.mean(spreads))

    def __str__(self) -> str:
        days = "; ".join(f"{said[1]:.1f} came {np.median(came):.1f}" for said, came in self.pairs)
        return (
            f"{self.seed} | {self.error:+.1%} ± {self.doubt:.1%} | days said {days} | "
            f"{self.hours_said:.2f} h a day said, {self.hours_recorded:.2f} recorded | {self.about}"
        )


def plant_of(seed: int) -> Scenario:
    """A plant that starts and stops by its battery, in a season that stays as it is."""
    draw = random.Random(f"outlook {seed}")
    scenario = random_plant(seed, hours=24.0 * RECORDED_DAYS, ending="normal", interval_s=60.0)
    battery, generator, solar = scenario.battery, scenario.generator, scenario.solar
    if generator is None:
        raise ValueError("a plant without a generator")
    month, day = draw.choice(((6, 8), (12, 8)))
    changed = {
        "place": scenario.place.model_copy(
            update={"start": scenario.place.start.replace(month=month, day=day, hour=0, minute=0)}
        ),
        "generator": generator.model_copy(update={"tank": 4000.0, "tank_percent": 100.0}),
        "order": (),
        "auto": scenario.auto.model_copy(
            update={
                "start_soc": battery.reserve_soc + draw.randrange(2, 12),
                "stop_soc": float(draw.randrange(65, 92)),
            }
        ),
    }
    if solar is not None:
        cover = round(draw.uniform(0.6, 1.0), 2)
        changed["solar"] = solar.model_copy(update={"rated_w": solar.rated_w * 0.5, "cover": cover})
    channels = {*scenario.log.channels, "generator_power", "load_power", "battery_power", "battery_soc"}
    channels |= {"battery_voltage"} | ({"dc_load_power"} if scenario.dc_loads else set())
    if solar is not None:
        channels.add("solar_power" if solar.coupling == "dc" else "solar_ac_power")
    changed["log"] = scenario.log.model_copy(update={"channels": tuple(sorted(channels))})
    return scenario.model_copy(update=changed)


def lasting(scenario: Scenario, recorded: Simulation, fuels: Sequence[float], seed: int) -> list[float]:
    """Days until each of these amounts (rising) is burnt, from where the recording ended."""
    end = scenario.place.start + timedelta(days=RECORDED_DAYS)
    soc = float(recorded.truth.column("battery_soc")[-1])
    onward = scenario.model_copy(
        update={
            "place": scenario.place.model_copy(update={"start": end}),
            "battery": scenario.battery.model_copy(update={"soc": soc}),
        }
    )
    plant = Plant(onward, seed)
    days: list[float] = []
    while plant.now < MOST_DAYS * 86400.0 and len(days) < len(fuels):
        plant.step(plant.step_s)
        while plant.generator and len(days) < len(fuels) and plant.generator.tank.burnt >= fuels[len(days)]:
            days.append(plant.now / 86400.0)
    return days + [np.inf] * (len(fuels) - len(days))


def judge(seed: int) -> Case | None:
    """One plant; None where the sun does it all."""
    scenario = plant_of(seed)
    draw = random.Random(f"fuel {seed}")
    with with_steps(COARSE_S, FINE_S):
        recorded = simulated(scenario, f"{COARSE_S} {FINE_S}")
        on = recorded.truth.column("generator_power") > 0
        hours = float(np.mean(on)) * 24.0
        generator = scenario.generator
        if hours < LEAST_HOURS_A_DAY or generator is None:
            return None
        a_day = _burnt(recorded) / RECORDED_DAYS
        most = a_day * draw.uniform(6.0, 9.0)
        fuels = [round(most * share, 1) for share in STORES]
        runs = [lasting(scenario, recorded, fuels, 1000 + seed + 7 * n) for n in range(OTHER_SEEDS)]
    site = site_of(recorded.site_toml)
    evidence = gather(recorded.recording, site)
    outcomes = [plan(site, evidence, _wishes(scenario, recorded, fuel)).outlook.chosen for fuel in fuels]
    lasts = [one.days_of_fuel for one in outcomes]
    solar = scenario.solar.coupling if scenario.solar else "no"
    about = (
        f"{scenario.battery.chemistry} {scenario.battery.capacity_kwh} kWh, {solar} sun, "
        f"{scenario.auto.start_soc:g}..{scenario.auto.stop_soc:g} %, {generator.rated_w:g} W, "
        f"{', '.join(name for name in recorded.recording.channels if 'power' in name)}"
    )
    return Case(
        seed=seed,
        about=about,
        said=tuple((one.p10, one.p50, one.p90) for one in lasts),
        hours_said=outcomes[-1].hours_per_day.p50,
        hours_recorded=hours,
        came=tuple(zip(*runs, strict=True)),
    )


def _wishes(scenario: Scenario, recorded: Simulation, fuel: float) -> Wishes:
    """The rule by which the plant runs, and what it begins with."""
    return Wishes(
        fuel=fuel,
        soc=float(recorded.truth.column("battery_soc")[-1]),
        days=40,
        starts=(float(scenario.auto.start_soc or 0.0),),
        stops=(float(scenario.auto.stop_soc or 100.0),),
        limits=(scenario.input.limit_a,),
    )


def _burnt(recorded: Simulation) -> float:
    """Fuel burnt in the recording, by the true level at its ends."""
    generator = recorded.scenario.generator
    level = recorded.truth.column("fuel_level").astype(np.float64)
    return float(level[0] - level[-1]) / 100.0 * (generator.tank if generator else 0.0)


def main() -> None:
    """Judge, print, save."""
    given = arguments(__doc__ or "", 20)
    found = spread(judge, range(given.seed, given.seed + given.plants))
    cases = [case for case in found if case is not None]
    print(f"{len(cases)} of {given.plants} plants need their generator")
    errors = np.array([case.error for case in cases])
    within = sum(abs(case.error) <= WITHIN + 2.0 * case.doubt for case in cases)
    line("median days of fuel within 5 % (and chance) of what came", within, len(cases), least=0.95)
    line("  within 5 % as it stands", int(np.sum(np.abs(errors) <= WITHIN)), len(cases))
    each = [(said, days) for case in cases for said, came in case.pairs for days in came]
    held = sum(said[0] <= days <= said[2] for said, days in each)
    line("  days that came lie within the 10..90 % range", held, len(each))
    if len(cases):
        worst = errors[np.argmax(np.abs(errors))]
        print(
            f"    error: median {np.median(errors):+.1%}, size {np.median(np.abs(errors)):.1%}, worst {worst:+.1%}"
        )
    for case in sorted(cases, key=lambda case: -abs(case.error)):
        print(f"    {case}"[:230])
    save(given.cases, sorted(cases, key=lambda case: -abs(case.error)))


if __name__ == "__main__":
    main()
