"""What came of a rule, over all runs: medians, ranges, and the courses that a chart shows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.outlook.plant import PlantFacts
from desktop.charging.outlook.rule import Rule
from desktop.charging.outlook.simulate import Course

Floats = NDArray[np.float64]

POINTS = (0.1, 0.5, 0.9)


@dataclass(frozen=True, slots=True)
class Spread:
    """The 10, 50 and 90 % points over all runs."""

    p10: float
    p50: float
    p90: float

    @classmethod
    def of(cls, values: Floats) -> Spread:
        """Of (n,) values, which may be inf."""
        return cls(*(float(each) for each in np.quantile(values, POINTS, method="inverted_cdf")))


@dataclass(frozen=True, slots=True)
class RuleOutcome:
    """One rule. Rates are per day, with fuel for all of them.

    days_of_fuel    inf where the fuel outlasts the days that were worked through
    unserved_share  of what the house asked for, over all runs
    load_share      the generator's mean load while it runs, of what it can carry; NaN where it never runs
    solar_share     of what the house got, what solar gave
    cut_share       of what solar could give, what nobody took; NaN without solar
    starts_by_hour  (24,) the share of its starts that fall into each hour of the day; 0 where there are none
    soc_by_hour     (24, 3) points of the state of charge at each hour of the day, %
    fuel_left       (days + 1, 3) points of the fuel left, from the first morning to the last evening; empty where
                    it isn't bounded
    """

    rule: Rule
    hours_per_day: Spread
    starts_per_day: Spread
    fuel_per_day: Spread
    days_of_fuel: Spread
    unserved_share: float
    load_share: float
    solar_share: float
    cut_share: float
    starts_by_hour: Floats
    soc_by_hour: Floats
    fuel_left: Floats


def outcomes(plant: PlantFacts, rules: tuple[Rule, ...], course: Course) -> tuple[RuleOutcome, ...]:
    """The outcome of each rule."""
    return tuple(_outcome(plant, rule, course, number) for number, rule in enumerate(rules))


def _outcome(plant: PlantFacts, rule: Rule, course: Course, number: int) -> RuleOutcome:
    hours, starts, burnt = (each[number].mean(axis=1) for each in (course.hours, course.starts, course.burnt))
    books = {name: float(amounts[number].sum()) for name, amounts in course.books.items()}
    ran = float(course.hours[number].sum())
    return RuleOutcome(
        rule=rule,
        hours_per_day=Spread.of(hours),
        starts_per_day=Spread.of(starts),
        fuel_per_day=Spread.of(burnt),
        days_of_fuel=Spread.of(course.lasted[number]),
        unserved_share=_share(books["unserved"], books["demand"], 0.0),
        load_share=_share(books["generator"], ran * plant.generator.rated_w),
        solar_share=_share(books["solar"] - books["cut"], books["demand"] - books["unserved"]),
        cut_share=_share(books["cut"], books["solar"]),
        starts_by_hour=course.begun[number] / max(float(course.begun[number].sum()), 1.0),
        soc_by_hour=_soc_by_hour(course, number),
        fuel_left=_fuel_left(plant, course, number),
    )


def _share(part: float, whole: float, otherwise: float = float("nan")) -> float:
    return part / whole if whole > 0 else otherwise


def _soc_by_hour(course: Course, number: int) -> Floats:
    soc = course.soc[number].reshape(-1, course.days, 24)
    points: Floats = np.quantile(soc.reshape(-1, 24), POINTS, axis=0).T.astype(np.float64)
    return points


def _fuel_left(plant: PlantFacts, course: Course, number: int) -> Floats:
    store = plant.generator.store
    if not np.isfinite(store):
        return np.empty((0, len(POINTS)))
    left = np.maximum(store - np.cumsum(course.burnt[number], axis=1), 0.0)
    points = np.quantile(left, POINTS, axis=0).T
    return np.concatenate([np.full((1, len(POINTS)), store), points])
