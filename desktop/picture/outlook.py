"""An outlook as charts: bands and points on round axes, in the units in which they are shown."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.outlook.as_text import how_to_run
from desktop.charging.outlook.outcome import RuleOutcome
from desktop.charging.outlook.outlook import Outlook
from desktop.picture.charts.chart import Axis
from desktop.words import Phrase

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Band:
    """A median with the range that 8 of 10 courses lie in; (n,) each.

    rule   the number of the rule whose course it is
    label  the rule in words
    """

    rule: int
    label: Phrase
    x: Floats
    low: Floats
    middle: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class BandChart:
    """Bands over a common x."""

    x: Axis
    y: Axis
    bands: tuple[Band, ...]


@dataclass(frozen=True, slots=True)
class Mark:
    """A rule as a point with its ranges; `best` and `served` say how it is to be told from others."""

    rule: int
    label: Phrase
    x: tuple[float, float, float]
    y: tuple[float, float, float]
    best: bool
    served: bool


@dataclass(frozen=True, slots=True)
class RulesChart:
    """All rules, by how long the generator runs and what it burns."""

    x: Axis
    y: Axis
    marks: tuple[Mark, ...]


def soc_chart(found: Outlook, rules: Sequence[int] = ()) -> BandChart:
    """State of charge by hour of the day; of the best rule where none is named."""
    hours = np.arange(25.0)
    bands = []
    for number in rules or (found.best,):
        one = found.rules[number]
        # Midnight stands at both ends.
        low, middle, high = np.concatenate([one.soc_by_hour, one.soc_by_hour[:1]]).T
        bands.append(Band(number, how_to_run(one.rule), hours, low, middle, high))
    clock = Axis.over(Phrase("Hour of the day"), 0.0, 24.0, 3.0)
    return BandChart(clock, Axis.over(Phrase("State of charge, %"), 0.0, 100.0, 20.0), tuple(bands))


def fuel_chart(found: Outlook, rules: Sequence[int] = ()) -> BandChart | None:
    """Fuel left over the days; of the best rule where none is named. None where the store isn't known."""
    store, unit = found.plant.generator.store, found.plant.generator.curve.unit
    if not math.isfinite(store):
        return None
    days = np.arange(found.question.horizon + 1.0)
    bands = []
    for number in rules or (found.best,):
        one = found.rules[number]
        low, middle, high = one.fuel_left.T
        bands.append(Band(number, how_to_run(one.rule), days, low, middle, high))
    return BandChart(
        Axis.over(Phrase("Days"), 0.0, float(days[-1])),
        Axis.over(Phrase("Fuel left, {unit}", unit=unit), 0.0, store),
        tuple(bands),
    )


def rules_chart(found: Outlook, served_share: float) -> RulesChart:
    """Each rule's hours and fuel a day.

    served_share  up to this unserved share a rule counts as keeping the house supplied
    """
    marks = tuple(
        _mark(number, one, number == found.best, one.unserved_share <= served_share)
        for number, one in enumerate(found.rules)
    )
    most_hours = max(mark.x[2] for mark in marks)
    most_fuel = max(mark.y[2] for mark in marks)
    unit = found.plant.generator.curve.unit
    return RulesChart(
        Axis.over(Phrase("Hours a day"), 0.0, most_hours),
        Axis.over(Phrase("{unit} a day", unit=unit), 0.0, most_fuel),
        marks,
    )


def _mark(number: int, one: RuleOutcome, best: bool, served: bool) -> Mark:
    hours, fuel = one.hours_per_day, one.fuel_per_day
    return Mark(
        number,
        how_to_run(one.rule),
        (hours.p10, hours.p50, hours.p90),
        (fuel.p10, fuel.p50, fuel.p90),
        best,
        served,
    )
