"""The rules that are compared where a person names none."""

from __future__ import annotations

import math
from collections.abc import Sequence

from desktop.charging.outlook.plant import PlantFacts
from desktop.charging.outlook.rule import Hours, Rule

ABOVE_RESERVE = (5.0, 15.0, 30.0)
"""How far above the reserve the generator is started, in percentage points."""

STOPS = (60.0, 80.0, 95.0)
"""Where it is stopped, %."""

RUNS = (Hours(9, 12), Hours(18, 21))
"""A morning and an evening in which it is run every day."""

LEAST_SWING = 15.0
"""A run that brings less than so many percentage points isn't worth a start."""

RUN_SWING = 10.0
"""So far below its stop a run by the clock is begun."""

LOAD_SHARES = (0.9, 0.6)
"""Input limits that are compared beside the one that is set, as shares of what the generator can carry: one with
some room for a load that is switched on, and one that is gentle."""


def candidates(
    plant: PlantFacts,
    limit_a: float | None = None,
    *,
    starts: Sequence[float] = (),
    stops: Sequence[float] = (),
    limits: Sequence[float] = (),
    runs: Sequence[Hours] = (),
    target_soc: float | None = None,
) -> tuple[Rule, ...]:
    """Every sensible pairing of starts, stops and limits; what a person gives takes the place of the usual.

    limit_a     the AC input limit as it is set, A; None where not known
    target_soc  one more state of charge to stop at, %
    """
    reserve = plant.battery.reserve_soc
    begins = sorted(set(starts)) or [reserve + more for more in ABOVE_RESERVE if reserve + more <= 80]
    ends = sorted(set(stops)) or sorted({*STOPS, *([] if target_soc is None else [target_soc])})
    least = 0.0 if starts or stops else LEAST_SWING
    allowed = sorted(set(limits)) or _limits(plant, limit_a)
    rules = [
        Rule(begin, end, limit)
        for limit in allowed
        for begin in begins
        for end in ends
        if end - begin > 0 and end - begin >= least
    ]
    by_clock = [
        Rule(begins[0], end, allowed[-1], run, end - RUN_SWING)
        for run in runs or RUNS
        for end in ends[-2:]
        if end - RUN_SWING > begins[0]
    ]
    return (*rules, *by_clock)


def _limits(plant: PlantFacts, limit_a: float | None) -> list[float]:
    """Amperes, rising; none lets through more than the generator can carry, unless it is the one that is set."""
    most = plant.generator.rated_w / plant.generator.w_per_a
    usual = {max(1.0, math.floor(share * most)) for share in LOAD_SHARES}
    if limit_a is None:
        return sorted(usual)
    return sorted({limit_a} | {each for each in usual if abs(each - limit_a) > 0.1 * limit_a})
