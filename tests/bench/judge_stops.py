"""Judge of how runs ended: overload, dry tank and normal stop told apart, or "unclear", but never the wrong one.

Well metered is a log with a row every 2 s or more often, generator power and frequency in it, and rows around the
end; what can be seen in others is told beside it. A set that was switched off under load must not pass for any of
the three, nor one that stops as soon as it is relieved for a trip or an empty tank. Ends of runs that carried next
to nothing aren't judged.

Run: PYTHONPATH=tests/shared python tests/bench/judge_stops.py --plants 200 --seed 1
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from judging import arguments, line, save, simulated, site_of, spread, worked
from meter_faults import with_gaps
from random_plants import Ending, random_plant

from desktop.charging.stops import Halt, Stops
from drivers.plant.scenario import Scenario
from drivers.plant.simulation import Simulation

ENDINGS: tuple[Ending, ...] = (
    "normal",
    "overload",
    "dry tank",
    "normal",
    "overload",
    "dry tank",
    "no cool-down",
    "killed",
)
TOLD_APART = ("normal", "overload", "dry tank")

LEAST_COOL_DOWN_S = 20.0
FINE_S = 2.0
LEAST_SHARE = 0.05

_TRUE = {
    "overload_trip": "overload",
    "underspeed_trip": "overload",
    "out_of_fuel": "dry tank",
    "kill": "killed",
    "cool_down": "normal",
}
_BEFORE_NS, _AFTER_NS = 8_000_000_000, 20_000_000_000


@dataclass(frozen=True, slots=True)
class Case:
    """One end of a run under load, what it was and what was told of it."""

    seed: int
    about: str
    true: str
    told: str
    fine: bool
    interval_s: float

    @property
    def wrong(self) -> bool:
        """Silently wrong: another of the three is named. Switched off by hand isn't any of them."""
        if self.true == "sagged":
            return self.told in ("normal", "dry tank")
        if self.true == "no cool-down":
            return self.told in ("overload", "dry tank")
        if self.true == "normal" and self.told == "under load":
            return True
        return self.told in TOLD_APART and self.told != self.true

    def __str__(self) -> str:
        return f"{self.seed} | was {self.true} | told {self.told} | {self.about}"


def plant_of(seed: int) -> Scenario:
    """The plant of a seed: a short recording in which the set stops."""
    draw = random.Random(f"stops {seed}")
    ending = ENDINGS[seed % len(ENDINGS)]
    interval = draw.choice((1.0, 1.0, 2.0, 5.0, 5.0, None))
    scenario = random_plant(seed, hours=round(draw.uniform(0.7, 2.5), 2), ending=ending, interval_s=interval)
    channels = set(scenario.log.channels) | {"generator_power"}
    if draw.random() < 0.7:
        channels |= {"generator_frequency"}
    return scenario.model_copy(
        update={"log": scenario.log.model_copy(update={"channels": tuple(sorted(channels))})}
    )


def ends(done: Simulation) -> list[tuple[int, str]]:
    """(UTC nanoseconds, how) of every end of a run under load."""
    found = []
    for event in done.events:
        if event.kind != "transfer_off" or event.what != "generator":
            continue
        near = [
            _TRUE[other.kind]
            for other in done.events
            if other.kind in _TRUE
            and other.what != "order"
            and event.time - _BEFORE_NS <= other.time <= event.time + _AFTER_NS
        ]
        true = near[0] if near else "sagged"
        if (
            true == "normal"
            and done.scenario.generator
            and done.scenario.generator.cool_down_s < LEAST_COOL_DOWN_S
        ):
            true = "no cool-down"
        found.append((event.time, true))
    return found


def judge(seed: int) -> list[Case]:
    """Every end of a plant's runs."""
    scenario = plant_of(seed)
    done = simulated(scenario)
    recording = done.recording
    if random.Random(f"gaps {seed}").random() < 0.25:
        recording = with_gaps(recording, np.random.default_rng(seed))
    site = site_of(done.site_toml)
    learned, blocks = worked(recording, site)
    stops = Stops(learned, site)
    for block in blocks:
        stops.extend(block)
    interval = scenario.log.interval_s
    channels = set(recording.channels)
    fine = interval <= FINE_S and "generator_frequency" in channels
    gaps = ["gaps"] if recording is not done.recording else []
    told_by = [
        name
        for name in recording.channels
        if "power" in name or name in ("generator_frequency", "fuel_level")
    ]
    about = ", ".join((f"{interval:g} s", *gaps, *told_by))
    last = int(recording.time[-1])
    cases = []
    for time, true in ends(done):
        # What was still open when the recording ended can't be told.
        if last - time > max(60.0, 4 * interval) * 1e9 and carried(done, time) > LEAST_SHARE:
            told = told_at(stops.halts, time, interval)
            covered = fine and bool(np.sum(np.abs(recording.time - time) < 15e9) > 20 / interval)
            cases.append(Case(seed, about, true, told, covered, interval))
    return cases


def carried(done: Simulation, time: int) -> float:
    """Share of its rating that the generator gave in the minute before."""
    truth = done.truth
    rows = (truth.time < time) & (truth.time > time - 60e9 - 2e9 * done.scenario.log.interval_s)
    rated = done.scenario.generator.rated_w if done.scenario.generator else np.inf
    return float(np.max(truth.column("generator_power")[rows], initial=0.0)) / rated


def told_at(halts: Sequence[Halt], time: int, interval_s: float) -> str:
    """What is told of the stop nearest to an instant; "nothing" where none lies near."""
    reach = max(90.0, 2.5 * interval_s) * 1e9
    near = [halt for halt in halts if min(abs(halt.stopped - time), abs(halt.loaded - time)) <= reach]
    if not near:
        return "nothing"
    halt = min(near, key=lambda halt: abs(halt.loaded - time))
    if halt.kind == "under load":
        return halt.reason or "under load"
    return halt.kind


def main() -> None:
    """Judge, print, save."""
    given = arguments(__doc__ or "", 400)
    cases = [case for part in spread(judge, range(given.seed, given.seed + given.plants)) for case in part]
    fine = [case for case in cases if case.fine]
    for true in TOLD_APART:
        those = [case for case in fine if case.true == true]
        line(f"well metered: {true} told rightly", sum(case.told == true for case in those), len(those))
    three = [case for case in fine if case.true in TOLD_APART]
    hits = sum(case.told == case.true for case in three)
    line("well metered: told rightly, all three", hits, len(three), least=0.95)
    others = [case for case in cases if not case.fine and case.true in TOLD_APART]
    some = [case for case in others if case.interval_s <= 5.0]
    line("rows every 5 s or gaps: told rightly, all three", sum(c.told == c.true for c in some), len(some))
    line("other logs: told rightly, all three", sum(case.told == case.true for case in others), len(others))
    wrong = [case for case in cases if case.wrong]
    line("all logs: silently wrong", len(wrong), len(cases), most=0.0)
    line("all logs: no stop seen at all", sum(case.told == "nothing" for case in cases), len(cases))
    table = Counter((case.true, case.told) for case in cases)
    for (true, told), count in sorted(table.items()):
        print(f"    was {true:<10} told {told:<12} {count:>4}")
    missed = [case for case in three if case.told != case.true and case not in wrong]
    save(given.cases, ["# wrong", *wrong, "# well metered, not told", *missed])


if __name__ == "__main__":
    main()
