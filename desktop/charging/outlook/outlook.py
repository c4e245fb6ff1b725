"""The outlook: a plant carried on through days drawn from recorded ones, under many rules, and the best of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from desktop.charging.outlook.assumption import Assumption
from desktop.charging.outlook.choice import MOST_STARTS, choose
from desktop.charging.outlook.days import Days
from desktop.charging.outlook.draw import draw
from desktop.charging.outlook.outcome import RuleOutcome, outcomes
from desktop.charging.outlook.plant import PlantFacts
from desktop.charging.outlook.rule import Hours, Rule
from desktop.charging.outlook.simulate import simulate
from desktop.words import Phrase

RUNS = 200
"""Enough for the 10 and 90 % points: by chance alone they lie at 8 to 12 and 88 to 92 %."""

HORIZON = 60


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked.

    first_date   the day on which it begins, days since 1970-01-01
    start_soc    state of charge then, %
    horizon      days; the fuel may last longer
    overcast     the share of the recorded sun that comes
    quiet        hours in which the generator must not run
    most_starts  a day
    """

    first_date: int
    start_soc: float
    horizon: int = HORIZON
    runs: int = RUNS
    seed: int = 1
    overcast: float = 1.0
    quiet: Hours | None = None
    most_starts: float = MOST_STARTS


@dataclass(frozen=True, slots=True)
class Outlook:
    """The answer.

    best         the number of a rule
    reason       why it is best
    sunless      what comes of the best rule without any sun; None where there is none in the days anyway
    assumptions  what all of it rests on
    """

    question: Question
    plant: PlantFacts
    days: Days
    rules: tuple[RuleOutcome, ...]
    best: int
    reason: Phrase
    sunless: RuleOutcome | None
    assumptions: tuple[Assumption, ...]

    @property
    def chosen(self) -> RuleOutcome:
        """What comes of the best rule."""
        return self.rules[self.best]


def outlook(
    plant: PlantFacts,
    days: Days,
    rules: Sequence[Rule],
    question: Question,
    assumptions: Sequence[Assumption] = (),
    progress: Callable[[float], None] | None = None,
) -> Outlook:
    """Work it out. The same arguments give the same answer.

    progress  is told the share that is done, 0..1
    """
    draws = draw(
        days,
        runs=question.runs,
        horizon=question.horizon,
        first_date=question.first_date,
        seed=question.seed,
        fuel_sd=plant.generator.curve.sd,
    )

    def carried_on(under: Sequence[Rule], sun: float) -> tuple[RuleOutcome, ...]:
        course = simulate(
            plant,
            days,
            draws,
            under,
            start_soc=question.start_soc,
            quiet=question.quiet,
            overcast=sun,
            progress=progress if under is rules else None,
        )
        return outcomes(plant, tuple(under), course)

    found = carried_on(rules, question.overcast)
    rated_a = plant.generator.rated_w / plant.generator.w_per_a
    choice = choose(found, rated_a, question.most_starts)
    sunny = days.sun_wh.any() and question.overcast > 0
    sunless = carried_on([rules[choice.best]], 0.0)[0] if sunny else None
    return Outlook(question, plant, days, found, choice.best, choice.reason, sunless, tuple(assumptions))
