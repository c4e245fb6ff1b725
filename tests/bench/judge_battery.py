"""Judge of the battery: the capacity's interval must hold the truth, and be narrow after three half-cycles.

The battery in the sheet isn't the one that is there: it has aged, or no size is given at all. A half-cycle is a
rise or fall of the true state of charge by a quarter of the capacity or more.

Run: PYTHONPATH=tests/shared python tests/bench/judge_battery.py --plants 100 --seed 1
"""

from __future__ import annotations

import random
import tomllib
from collections import Counter
from dataclasses import dataclass

import numpy as np
from judging import arguments, line, save, simulated, spread, worked
from meter_faults import with_gaps
from numpy.typing import NDArray
from random_plants import random_plant

from desktop.charging.battery.book import BatteryBook
from desktop.charging.battery.facts import Estimate
from desktop.charging.battery.judgement import judge_battery
from desktop.site import Site
from drivers.plant.bank import ampere_hours, cells_of
from drivers.plant.chemistry import CHEMISTRIES
from drivers.plant.scenario import Scenario

SWING = 25.0
WIDTH = 0.10


@dataclass(frozen=True, slots=True)
class Case:
    """One battery: its true capacities, and what was said of them."""

    seed: int
    about: str
    true_ah: float
    true_wh: float
    ah: Estimate
    wh: Estimate
    swings: int

    @property
    def told(self) -> bool:
        """A measured capacity with an interval."""
        return self.wh.origin == "measured" and bool(np.isfinite([self.wh.low, self.wh.high]).all())

    @property
    def holds_wh(self) -> bool:
        return self.wh.low <= self.true_wh <= self.wh.high

    @property
    def holds_ah(self) -> bool:
        return self.ah.low <= self.true_ah <= self.ah.high

    @property
    def narrow(self) -> bool:
        """Half the interval's width over its value lies below ±10 %."""
        return self.told and (self.wh.high - self.wh.low) / 2.0 < WIDTH * self.wh.value

    def __str__(self) -> str:
        wh, ah = _of_truth(self.wh, self.true_wh), _of_truth(self.ah, self.true_ah)
        return f"{self.seed} | {self.swings} swings | Wh {wh} Ah {ah} of the truth, {self.wh.origin} | {self.about}"


def _of_truth(said: Estimate, true: float) -> str:
    return "..".join(f"{each / true:.3f}" for each in (said.low, said.value, said.high))


def plant_of(seed: int) -> Scenario:
    """A plant whose battery goes up and down for a day or three."""
    draw = random.Random(f"battery {seed}")
    hours = round(draw.uniform(20.0, 60.0), 1)
    scenario = random_plant(
        seed, hours=hours, ending="normal", interval_s=draw.choice((5.0, 10.0, 30.0, 60.0))
    )
    wh = scenario.battery.capacity_kwh * 1000.0
    base = wh / draw.uniform(7.0, 20.0)
    legs = len(scenario.house.base_w)
    low = round(scenario.battery.reserve_soc + draw.uniform(3, 15))
    channels = {*scenario.log.channels, "battery_power", "battery_voltage", "battery_soc"}
    if draw.random() < 0.3:
        channels = (channels - {"battery_power"}) | {"battery_current"}
    changed = {
        "house": scenario.house.model_copy(update={"base_w": (base / legs,) * legs}),
        "auto": scenario.auto.model_copy(
            update={"start_soc": low, "stop_soc": round(draw.choice((draw.uniform(70, 95), 99.5)), 1)}
        ),
        "log": scenario.log.model_copy(update={"channels": tuple(sorted(channels))}),
        "order": (),
    }
    return scenario.model_copy(update=changed)


def sheet(text: str, seed: int) -> Site:
    """The sheet with another size on the plate than what is left, or none."""
    draw = random.Random(f"plate {seed}")
    table = tomllib.loads(text)
    if draw.random() < 0.25:
        del table["battery"]["capacity_kwh"]
    else:
        table["battery"]["capacity_kwh"] = round(
            table["battery"]["capacity_kwh"] * draw.uniform(0.95, 1.4), 1
        )
    return Site.of(table)


def delivered_wh(scenario: Scenario, amperes: float) -> float:
    """What the terminals deliver from 100 to 0 % at a steady current, by the simulated battery's own curve."""
    battery, kind = scenario.battery, CHEMISTRIES[scenario.battery.chemistry]
    cells, ah = cells_of(battery), ampere_hours(battery)
    ohm = (battery.resistance_ohm or cells * kind.ohm_c / ah) + cells * kind.slow_c / ah
    volts = [cells * kind.rest(soc) - amperes * ohm for soc in np.arange(0.5, 100.0)]
    return float(np.mean(volts) * ah)


def swings(soc: NDArray[np.float64]) -> int:
    """How often the state of charge went up or down by SWING."""
    count, low, high, way = 0, soc[0], soc[0], 0
    for value in soc.tolist():
        low, high = min(low, value), max(high, value)
        if way <= 0 and value - low >= SWING:
            count, way, high = count + 1, 1, value
        elif way >= 0 and high - value >= SWING:
            count, way, low = count + 1, -1, value
        if way > 0:
            low = high = max(high, value)
        elif way < 0:
            high = low = min(low, value)
    return count


def judge(seed: int) -> Case:
    """One battery."""
    scenario = plant_of(seed)
    done = simulated(scenario)
    recording = with_gaps(done.recording, np.random.default_rng(seed)) if seed % 3 == 0 else done.recording
    site = sheet(done.site_toml, seed)
    learned, blocks = worked(recording, site)
    book = BatteryBook(learned, site)
    for block in blocks:
        book.extend(block)
    facts = judge_battery(book.snapshot(), learned, site)
    current = done.truth.column("battery_current").astype(np.float64)
    out = -current[current < 0]
    mean_a = float(np.average(out, weights=out)) if out.size else 0.0
    meter = scenario.meters.get("battery_power")
    about = (
        f"{scenario.battery.chemistry} {scenario.battery.capacity_kwh} kWh, plate {site.battery.capacity_kwh}, "
        f"{scenario.log.interval_s:g} s, {scenario.place.hours} h, SOC in "
        f"{scenario.meters['battery_soc'].quantum if 'battery_soc' in scenario.meters else 0.1} %, meter "
        f"{meter.percent if meter else 1} % {'V·I' if 'battery_power' not in recording else ''}, "
        f"{facts.half_cycles} half-cycles counted, {facts.lack}"
    )
    return Case(
        seed=seed,
        about=about,
        true_ah=ampere_hours(scenario.battery),
        true_wh=delivered_wh(scenario, mean_a),
        ah=facts.capacity_ah,
        wh=facts.capacity_wh,
        swings=swings(done.truth.column("battery_soc").astype(np.float64)),
    )


def main() -> None:
    """Judge, print, save."""
    given = arguments(__doc__ or "", 200)
    cases = list(spread(judge, range(given.seed, given.seed + given.plants)))
    told = [case for case in cases if case.told]
    three = [case for case in cases if case.swings >= 3]
    line("capacity interval (Wh) holds the truth", sum(case.holds_wh for case in told), len(told), least=0.95)
    line("capacity interval (Ah) holds the truth", sum(case.holds_ah for case in told), len(told), least=0.95)
    line(
        "narrower than ±10 % after three half-cycles",
        sum(case.narrow for case in three),
        len(three),
        least=0.95,
    )
    few = [case for case in cases if 0 < case.swings < 3]
    line("  narrower than ±10 %, one or two half-cycles", sum(case.narrow for case in few), len(few))
    line("  told at all", len(told), len(cases))
    if told:
        off = [case.wh.value / case.true_wh - 1.0 for case in told]
        wide = [(case.wh.high - case.wh.low) / 2.0 / case.wh.value for case in told]
        low, high = np.quantile(off, (0.05, 0.95))
        print(f"    error of the value: median {np.median(off):+.2%}, middle 90 % {low:+.1%} to {high:+.1%}")
        print(f"    half-width: median {np.median(wide):.1%}, 90 % below {np.quantile(wide, 0.9):.1%}")
    table = Counter((case.about.split()[0], case.holds_wh, case.narrow) for case in told)
    for (chemistry, holds, narrow), count in sorted(table.items()):
        held, width = "holds" if holds else "MISSES", "narrow" if narrow else "wide"
        print(f"    {chemistry:<8} {held:<7} {width:<7} {count:>4}")
    missed = [case for case in told if not (case.holds_wh and case.holds_ah)]
    wide_ones = [case for case in three if not case.narrow]
    save(given.cases, ["# misses the truth", *missed, "# not narrow after three", *wide_ones])


if __name__ == "__main__":
    main()
