"""Judge of the suspects: healthy recordings must accuse nobody, faults must be named rightly or not alone.

Plants, meters and faults are drawn at random. Whether a fault could be told at all is settled by an oracle that
knows the truth (tests/shared/fault_oracle.py).

Run: PYTHONPATH=tests/shared python tests/bench/judge_suspects.py --plants 500 --seed 1
"""

from __future__ import annotations

import random
import time
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from fault_oracle import Verdict, verdict
from judging import arguments, line, save, simulated, site_of, spread, worked
from meter_faults import MeterFault, with_fault, with_gaps
from random_faults import random_faults
from random_plants import random_plant

from desktop.diagnosis.suspects.book import SuspectBook
from desktop.diagnosis.suspects.suspect import Suspect
from desktop.diagnosis.suspects.verdict import find_suspects
from desktop.site import Site
from drivers.plant.scenario import Fault, Scenario
from drivers.plant.simulation import Simulation
from recordings.recording import Recording

FAULTS_A_PLANT = 3
CRASHED = "crashed:"

_SAME = {("scale", "one_leg"), ("one_leg", "scale")}


@dataclass(frozen=True, slots=True)
class Case:
    """One recording judged.

    fault   None where all meters are healthy
    named   (channel, fault) pairs of suspects and rivals
    alone   one suspect and no rival
    hidden  the plant has DC loads without a meter, which may be told of at any time
    """

    seed: int
    about: str
    fault: MeterFault | None
    oracle: Verdict | None
    named: tuple[tuple[str, str], ...]
    said: str
    alone: bool
    hidden: bool
    seconds: float

    @property
    def right(self) -> bool:
        """Whether the true meter and kind are among those named."""
        return self.fault is not None and any(fits(self.fault, *pair) for pair in self.named)

    @property
    def right_channel(self) -> bool:
        return self.fault is not None and any(
            sorted_name(channel) == self.fault.name for channel, _ in self.named
        )

    @property
    def true_besides(self) -> bool:
        """What really has no meter is named, alone or among others."""
        return self.hidden and ("dc", "unmetered_load") in self.named

    def __str__(self) -> str:
        oracle = self.oracle
        told = ""
        if oracle is not None:
            told = f"healthy +{oracle.healthy:.0f} rival +{oracle.rival:.0f} ({oracle.rival_name})"
        return f"{self.seed} | {self.fault or 'healthy'} | {told} | said: {self.said or 'nothing'} | {self.about}"


def fits(fault: MeterFault, channel: str, kind: str) -> bool:
    """Whether a suspect is the true fault; half of a balanced load is one leg of two."""
    as_well = (fault.kind, kind) in _SAME and _a_leg(fault)
    return sorted_name(channel) == fault.name and (kind == fault.kind or as_well)


def sorted_name(channel: str) -> str:
    """Two swapped meters in one order."""
    return "+".join(sorted(channel.split("+")))


def _a_leg(fault: MeterFault) -> bool:
    return fault.kind == "one_leg" or 0.25 < fault.value < 0.75


def plant_of(seed: int) -> Scenario:
    """The plant of a seed."""
    return random_plant(seed, hours=round(random.Random(f"hours {seed}").uniform(0.8, 6.0), 2))


def judge(seed: int) -> list[Case]:
    """A plant's healthy recording, and the same with some faults."""
    scenario = plant_of(seed)
    done = simulated(scenario)
    chance = np.random.default_rng(seed)
    healthy = with_gaps(done.recording, chance)
    cases = [_judged(scenario, healthy, site_of(done.site_toml), None, None)]
    metered = [
        name for name in done.recording.channels if float(np.nanmax(abs(done.recording.column(name)))) > 0
    ]
    legs = _one_leg(scenario, done)
    for fault in random_faults(scenario, tuple(metered), seed, FAULTS_A_PLANT):
        recording = with_fault(done.recording, fault, legs)
        true = with_fault(_only(done.truth, done.recording.channels), fault, legs)
        absent = [fault.channel] if fault.channel not in recording else []
        oracle = verdict(scenario, done.truth, true, fault)
        cases.append(_judged(scenario, recording, site_of(done.site_toml, absent), fault, oracle))
    return cases


def _only(truth: Recording, channels: Iterable[str]) -> Recording:
    return Recording.from_columns(truth.time.copy(), {name: truth.column(name).copy() for name in channels})


def _one_leg(scenario: Scenario, done: Simulation) -> dict[str, np.ndarray]:
    """What the meters of load and generator would read with one leg only."""
    names = [name for name in ("load_power", "generator_power") if name in done.recording]
    if scenario.legs == 1 or not names:
        return {}
    lost = tuple(Fault(channel=name, kind="one_leg") for name in names)
    again = simulated(scenario.model_copy(update={"fault": lost}))
    return {name: again.recording.column(name).astype(float) for name in names}


def _judged(
    scenario: Scenario, recording: Recording, site: Site, fault: MeterFault | None, oracle: Verdict | None
) -> Case:
    learned, blocks = worked(recording, site)
    book = SuspectBook(learned, site)
    for block in blocks:
        book.extend(block)
    started = time.process_time()
    try:
        suspects, crash = find_suspects(book.snapshot(), learned, site), ""
    except Exception as error:
        # One plant that breaks the method must not end the judgement of all others.
        suspects, crash = (), f"{CRASHED} {error!r}"
    seconds = time.process_time() - started
    everybody = [one for suspect in suspects for one in (suspect, *suspect.rivals)]
    named = tuple((one.channel, one.fault) for one in everybody)
    alone = len(suspects) == 1 and not suspects[0].rivals
    about = (
        f"{scenario.log.interval_s:g} s, {len(recording)} rows, {scenario.legs} legs, "
        f"{scenario.battery.chemistry}, {', '.join(name for name in recording.channels if 'power' in name)}"
    )
    unread = scenario.dc_loads is not None and "dc_load_power" not in recording
    hidden = unread and not (fault is not None and (fault.kind, fault.name) == ("unmetered_load", "dc"))
    return Case(scenario.seed, about, fault, oracle, named, crash or _said(everybody), alone, hidden, seconds)


def _said(suspects: list[Suspect]) -> str:
    told = [f"{one.fault} {one.channel} {one.parameter:.4g}±{one.parameter_sd:.2g}" for one in suspects[:6]]
    return "; ".join(told)


def main() -> None:
    """Judge, print, save."""
    given = arguments(__doc__ or "", 500)
    seeds = range(given.seed, given.seed + given.plants)
    cases = [case for part in spread(judge, list(seeds)) for case in part]
    healthy = [case for case in cases if case.fault is None]
    faulty = [case for case in cases if case.fault is not None]
    accused = [case for case in healthy if case.named and not case.true_besides]
    single = [case for case in faulty if not case.hidden]
    clear = [case for case in single if case.oracle and case.oracle.identifiable]
    seen = [case for case in single if case.oracle and case.oracle.detectable]
    wrong = [case for case in faulty if case.alone and not case.right and not case.true_besides]
    line("healthy recordings in which somebody is accused", len(accused), len(healthy), most=0.0)
    hits = sum(case.right and case.alone for case in clear)
    line("identifiable: right meter and kind, alone", hits, len(clear), least=0.95)
    line("identifiable: right one among the named", sum(c.right for c in clear), len(clear), least=0.99)
    line("  identifiable: right channel among the named", sum(c.right_channel for c in clear), len(clear))
    named = [case for case in seen if case.named]
    line("  detectable, something named: right one among", sum(case.right for case in named), len(named))
    line("all faults: a wrong name alone", len(wrong), len(faulty), most=0.005)
    line("  all faults: a wrong meter alone", sum(not c.right_channel for c in wrong), len(faulty))
    beside = len(faulty) - len(single)
    line("  faults beside an unmetered load: a wrong name alone", sum(case.hidden for case in wrong), beside)
    unseen = [case for case in single if case not in seen]
    line("  not detectable: a wrong name alone", sum(case in wrong for case in unseen), len(unseen))
    crashed = [case for case in cases if case.said.startswith(CRASHED)]
    line("all recordings: no verdict but an exception", len(crashed), len(cases), most=0.0)
    _by_kind(clear)
    slowest = max(case.seconds for case in cases)
    print(f"slowest verdict {slowest:.2f} s, median {np.median([case.seconds for case in cases]):.3f} s")
    missed = [case for case in clear if not (case.right and case.alone)]
    save(
        given.cases,
        [
            "# crashed",
            *crashed,
            "# accused",
            *accused,
            "# wrong alone",
            *wrong,
            "# identifiable, not right alone",
            *missed,
        ],
    )


def _by_kind(clear: list[Case]) -> None:
    of, hits, among = Counter[str](), Counter[str](), Counter[str]()
    for case in clear:
        kind = case.fault.kind if case.fault else ""
        of[kind] += 1
        hits[kind] += case.right and case.alone
        among[kind] += case.right
    for kind in sorted(of):
        print(f"    {kind:<18} alone {hits[kind]:>3}, among {among[kind]:>3} of {of[kind]:>3} identifiable")


if __name__ == "__main__":
    main()
