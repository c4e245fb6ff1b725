"""Judge of the forecast: from half-way on, when will the charge reach its target?

A session runs until well past its target; a forecast is made at several shares of the way from the first moment of
charging to the moment the true state of charge reaches the target. Only rows up to then are shown to it. All of it
once with the plant's site sheet, and once with a sheet that says nothing but the target.

Run: PYTHONPATH=tests/shared python tests/bench/judge_forecast.py --plants 100 --seed 1
"""

from __future__ import annotations

import random
from dataclasses import dataclass

import numpy as np
from judging import arguments, interval, line, save, simulated, site_of, spread, worked
from random_plants import random_plant

from desktop.charging.forecast.forecast import Span, forecast
from desktop.flow.minutes import Minutes
from desktop.site import Site
from drivers.plant.scenario import Scenario
from drivers.plant.simulation import Simulation

SHARES = (0.5, 0.65, 0.8, 0.9)
LEAST_SESSION_S = 1800.0
ERROR = 0.08
FULL = 99.0
"""No simulated charge comes to 99.5 %: lithium is let go to float at 99.3, lead-acid earlier."""
WORDS = (
    "lfp",
    "nmc",
    "flooded",
    "agm",
    "gel",
    "no sun",
    "dc sun",
    "ac sun",
    "first run",
    "earlier runs",
    "in 1 %",
    "1 legs",
    "2 legs",
    "3 legs",
)


@dataclass(frozen=True, slots=True)
class Case:
    """One forecast: seconds that remained in truth, and as said (median, 10 and 90 % points).

    sheet  "whole" or "empty"
    """

    seed: int
    sheet: str
    share: float
    target: float
    true_s: float
    said: tuple[float, float, float] | None
    about: str

    @property
    def error(self) -> float:
        """Relative to the remaining time; infinite where nothing was said."""
        return abs(self.said[0] / self.true_s - 1.0) if self.said else np.inf

    @property
    def holds(self) -> bool:
        return self.said is not None and self.said[1] <= self.true_s <= self.said[2]

    def __str__(self) -> str:
        said = "nothing"
        if self.said is not None:
            middle, low, high = (seconds / self.true_s for seconds in self.said)
            said = f"{low:.2f}..{middle:.2f}..{high:.2f}"
        left = f"{self.true_s / 60:.0f} min left"
        what = f"{self.seed} {self.sheet} sheet at {self.share} to {self.target:g} %"
        return f"{what}: {left}; said {said} of it | {self.about}"


def plant_of(seed: int) -> Scenario:
    """A plant that charges without an end; in a third of them after a day of earlier runs."""
    draw = random.Random(f"forecast {seed}")
    earlier = draw.random() < 0.33
    scenario = random_plant(
        seed,
        hours=round(draw.uniform(18, 30) if earlier else draw.uniform(4, 9), 2),
        ending="normal" if earlier else "running",
        interval_s=draw.choice((2.0, 10.0, 10.0, 30.0, 60.0)),
    )
    channels = {*scenario.log.channels, "battery_power", "battery_voltage", "battery_soc"}
    channels |= {"generator_power", "load_power"}
    if scenario.solar is not None:
        channels.add("solar_power" if scenario.solar.coupling == "dc" else "solar_ac_power")
    low = round(draw.uniform(20, 45), 1)
    changed = {
        "battery": scenario.battery.model_copy(update={"soc": low}),
        "log": scenario.log.model_copy(update={"channels": tuple(sorted(channels))}),
    }
    if earlier:
        stop = scenario.battery.target_soc + draw.uniform(1.0, 4.0)
        changed["auto"] = scenario.auto.model_copy(update={"start_soc": low, "stop_soc": stop})
        changed["order"] = ()
    return scenario.model_copy(update=changed)


def last_run(done: Simulation, target: float) -> tuple[int, int] | None:
    """UTC nanoseconds of the last rise under the generator that reached the target: its begin, and when."""
    truth = done.truth
    on = truth.column("generator_power") > 0
    soc = truth.column("battery_soc")
    edges = np.flatnonzero(np.diff(on.astype(np.int8), prepend=0, append=0))
    for first, after in reversed(list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))):
        reached = np.flatnonzero(soc[first:after] >= target)
        if reached.size and soc[first] < target - 5:
            begin, end = int(truth.time[first]), int(truth.time[first + reached[0]])
            if end - begin >= LEAST_SESSION_S * 1e9:
                return begin, end
    return None


def judge(seed: int) -> list[Case]:
    """The forecasts of one plant."""
    scenario = plant_of(seed)
    done = simulated(scenario)
    site = site_of(done.site_toml)
    empty = Site.of({"battery": {"target_soc": site.battery.target_soc}})
    cases = []
    for target in (site.battery.target_soc, 100.0):
        found = last_run(done, min(target, FULL))
        if found is None:
            continue
        begin, end = found
        for share in SHARES:
            at = begin + round(share * (end - begin))
            if (end - at) < 120e9:
                continue
            for sheet, known in (("whole", site), ("empty", empty)):
                said = _said(done, known, at, target)
                cases.append(Case(seed, sheet, share, target, (end - at) / 1e9, said, _about(scenario)))
    return cases


def _about(scenario: Scenario) -> str:
    solar = scenario.solar.coupling if scenario.solar else "no"
    step = scenario.meters["battery_soc"].quantum if "battery_soc" in scenario.meters else 0.1
    days = "after earlier runs" if scenario.auto.start_soc is not None else "first run"
    return (
        f"{scenario.battery.chemistry}, {solar} sun, {scenario.log.interval_s:g} s, SOC in {step:g} %, {days}, "
        f"{scenario.battery.air_c:g} °C, {scenario.legs} legs"
    )


def _said(done: Simulation, site: Site, at: int, target: float) -> tuple[float, float, float] | None:
    recording = done.recording.rows(0, int(np.searchsorted(done.recording.time, at, side="right")))
    learned, blocks = worked(recording, site)
    minutes = Minutes()
    for block in blocks:
        minutes.extend(block)
    said = forecast(minutes, learned, site, at)
    span = None if said is None else said.target(target)
    return None if span is None or span.at is None else _seconds(span, at)


def _seconds(span: Span, at: int) -> tuple[float, float, float]:
    middle, low, high = (
        np.inf if each is None else (each - at) / 1e9 for each in (span.at, span.low, span.high)
    )
    return middle, low, high


def main() -> None:
    """Judge, print, save."""
    given = arguments(__doc__ or "", 150)
    every = [case for part in spread(judge, range(given.seed, given.seed + given.plants)) for case in part]
    for sheet in ("whole", "empty"):
        mine = [case for case in every if case.sheet == sheet]
        _table(f"{sheet} sheet, target", [case for case in mine if case.target < 100])
        _table(f"{sheet} sheet, full (99 %)", [case for case in mine if case.target >= 100])
    worst = sorted(every, key=lambda case: -case.error)
    outside = [case for case in every if not case.holds]
    save(given.cases, ["# largest errors", *worst[:40], "# outside the range", *outside])


def _table(name: str, cases: list[Case]) -> None:
    said = [case for case in cases if case.said]
    plants = len({case.seed for case in cases})
    print(f"{name}: {len(cases)} forecasts in {plants} plants")
    line("  something is said", len(said), len(cases))
    if not said:
        return
    errors = [case.error for case in said]
    low, high = _median_interval(errors)
    verdict = "PASS" if np.median(errors) <= ERROR else "FAIL"
    print(f"  median error {np.median(errors):.1%} of the remaining time [{low:.1%}, {high:.1%}]  {verdict}")
    line("  10..90 % range holds the outcome", sum(case.holds for case in said), len(said), 0.75, 0.90)
    for share in SHARES:
        _part(f"at {share:.0%}", [case for case in said if case.share == share])
    for word in WORDS:
        _part(word, [case for case in said if word in case.about])


def _part(name: str, cases: list[Case]) -> None:
    """One row: error, tendency (late is +), how many the range holds, how wide it is."""
    told = [(case.true_s, *case.said) for case in cases if case.said]
    if not told:
        return
    held = sum(case.holds for case in cases)
    low, high = interval(held, len(cases))
    error = np.median([case.error for case in cases])
    late = np.median([middle / true - 1 for true, middle, _, _ in told])
    wide = np.median([(last - first) / true for true, _, first, last in told])
    print(
        f"    {name:<13} median error {error:6.1%}, says {late:+.1%}, range {wide:.0%} wide, "
        f"holds {held}/{len(cases)} [{low:.0%}, {high:.0%}]"
    )


def _median_interval(errors: list[float]) -> tuple[float, float]:
    """95 % by order statistics (binomial at one half, normal approximation)."""
    ordered, count = np.sort(errors), len(errors)
    reach = 0.98 * np.sqrt(count)
    return float(ordered[max(0, int(count / 2 - reach))]), float(
        ordered[min(count - 1, int(count / 2 + reach))]
    )


if __name__ == "__main__":
    main()
