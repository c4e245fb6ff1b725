"""An outlook for people: the answer first, then the rules it was compared with, what it rests on, what to mind."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from desktop.charging.outlook.amounts import about, about_hours, amount, clock, days, days_range, plain
from desktop.charging.outlook.assumption import Assumption, Source
from desktop.charging.outlook.choice import UNSERVED
from desktop.charging.outlook.outcome import RuleOutcome, Spread
from desktop.charging.outlook.outlook import Outlook
from desktop.charging.outlook.rule import Rule
from desktop.words import Phrase, decimal, template, tr

SOURCES: dict[Source, str] = {
    "recorded": template("From the recording"),
    "given": template("Given"),
    "assumed": template("Assumed"),
}
_FEW_STARTS, _OFTEN_STARTS = 0.95, 1.15
_WINDOW_H, _MOSTLY = 6, 0.7
_OF_EACH_LIMIT = 2


def outlook_text(
    found: Outlook, name: str, cautions: Sequence[Phrase], remarks: Sequence[Phrase] = ()
) -> str:
    """The whole text.

    name      of the plant, "" where it has none
    cautions  what to mind
    remarks   what is to be said of the days that it rests on
    """
    lines = [str(title(found, name)), "", *map(str, answer(found))]
    lines += ["", str(Phrase("The rules that were compared")), *_table(found)]
    lines += ["", str(Phrase("What this rests on")), *_basis(found.assumptions)]
    lines += [f"  {remark}" for remark in remarks]
    lines += ["", str(Phrase("Mind")), *(f"  - {caution}" for caution in cautions)]
    return "\n".join(lines)


def title(found: Outlook, name: str) -> Phrase:
    """What it is an outlook for: the plant, the days, and the sun."""
    asked = found.question
    values: dict[str, Any] = {
        "name": name or tr("this plant"),
        "days": asked.horizon,
        "sun": 100 * asked.overcast,
    }
    if not (found.days.sun_wh.any() and asked.overcast > 0):
        return Phrase("Outlook for {name}: {days:d} days without sun", **values)
    if asked.overcast != 1.0:
        return Phrase("Outlook for {name}: {days:d} days with {sun:%} of the usual sun", **values)
    if found.days.sun_typed:
        return Phrase("Outlook for {name}: {days:d} days with the usual sun", **values)
    return Phrase("Outlook for {name}: {days:d} days with sun as in the recorded ones", **values)


def answer(found: Outlook) -> Iterator[Phrase]:
    """What a household wants to know, in a few sentences: how long, when, how much, for how many days; then why."""
    chosen, unit = found.chosen, found.plant.generator.curve.unit
    if not chosen.hours_per_day.p90 > 0:
        yield Phrase("The generator isn't needed: sun and battery carry the house.")
        yield from _without_sun(found)
        yield from _supply(chosen)
        return
    yield _running(chosen)
    yield how_to_run(chosen.rule)
    yield from _when(chosen)
    if chosen.fuel_per_day.p50 > 0:
        yield Phrase(
            "It burns about {fuel} a day ({low} to {high}).",
            fuel=amount(chosen.fuel_per_day.p50, unit),
            low=about(chosen.fuel_per_day.p10),
            high=about(chosen.fuel_per_day.p90),
        )
    yield _lasting(found)
    yield from _refilling(found)
    yield from _without_sun(found)
    yield from _supply(chosen)
    yield found.reason
    yield Phrase("In brackets: where 8 of 10 simulated courses lie.")


def _running(chosen: RuleOutcome) -> Phrase:
    hours, starts = chosen.hours_per_day, chosen.starts_per_day.p50
    if not starts > 0:
        return Phrase(
            "The generator is hardly needed: in half of the simulated courses not at all, in one of ten for {high} "
            "a day or more.",
            high=about_hours(hours.p90),
        )
    values: dict[str, Any] = {
        "hours": about_hours(hours.p50),
        "low": about_hours(hours.p10),
        "high": about_hours(hours.p90),
        "run": about_hours(hours.p50 / starts),
    }
    if starts > _OFTEN_STARTS:
        return Phrase(
            "The generator has to run for about {hours} a day ({low} to {high}): {starts} runs a day of about "
            "{run} each.",
            **values,
            starts=about(starts),
        )
    if starts >= _FEW_STARTS:
        return Phrase(
            "The generator has to run for about {hours} a day ({low} to {high}), as a rule in one run.",
            **values,
        )
    return Phrase(
        "The generator has to run for about {hours} a day ({low} to {high}): one run of about {run} every {apart} "
        "days.",
        **values,
        apart=about(1 / starts),
    )


def _when(chosen: RuleOutcome) -> Iterator[Phrase]:
    """At which time of day it is started as a rule; nothing where that is any time, or the rule says it."""
    shares = chosen.starts_by_hour
    if chosen.rule.run is not None or not shares.sum() > 0:
        return
    within = [float(np.roll(shares, -hour)[:_WINDOW_H].sum()) for hour in range(24)]
    first = int(np.argmax(within))
    if within[first] < _MOSTLY:
        yield Phrase("That may be at any time of the day: name quiet hours to keep it silent at night.")
        return
    yield Phrase(
        "As a rule it is started between {since} and {until}.",
        since=clock(first),
        until=clock((first + _WINDOW_H) % 24 or 24),
    )


def _without_sun(found: Outlook) -> Iterator[Phrase]:
    """What the same rule comes to if the sun stays away."""
    dull, horizon = found.sunless, found.question.horizon
    if dull is None or not dull.hours_per_day.p50 > 0:
        return
    values: dict[str, Any] = {
        "hours": about_hours(dull.hours_per_day.p50),
        "fuel": amount(dull.fuel_per_day.p50, found.plant.generator.curve.unit),
    }
    if math.isfinite(dull.days_of_fuel.p50):
        yield Phrase(
            "If the sun stays away altogether: about {hours} and {fuel} a day, and the fuel lasts about {days} "
            "days ({range}).",
            **values,
            days=days(dull.days_of_fuel.p50, horizon),
            range=days_range(dull.days_of_fuel, horizon),
        )
    else:
        yield Phrase("If the sun stays away altogether: about {hours} and {fuel} a day.", **values)


def _lasting(found: Outlook) -> Phrase:
    store, unit, lasts = (
        found.plant.generator.store,
        found.plant.generator.curve.unit,
        found.chosen.days_of_fuel,
    )
    horizon = found.question.horizon
    if not math.isfinite(store):
        return Phrase("How long the fuel lasts isn't known: say with --fuel how much there is.")
    if not math.isfinite(lasts.p10):
        return Phrase(
            "The {fuel} at hand last for more than {days:d} days.", fuel=amount(store, unit), days=horizon
        )
    if not math.isfinite(lasts.p50):
        return Phrase(
            "The {fuel} at hand rather last for more than {days:d} days; in one of ten courses they are gone after "
            "{low} days.",
            fuel=amount(store, unit),
            days=horizon,
            low=days(lasts.p10, horizon),
        )
    return Phrase(
        "The {fuel} at hand last about {days} days ({range}).",
        fuel=amount(store, unit),
        days=days(lasts.p50, horizon),
        range=days_range(lasts, horizon),
    )


def _refilling(found: Outlook) -> Iterator[Phrase]:
    """How often the tank must be filled up from the store."""
    set_, fuel = found.plant.generator, found.chosen.fuel_per_day.p50
    if set_.tank < set_.store < math.inf and fuel > 0:
        yield Phrase(
            "A full tank of {tank} lasts about {days} days: fill it up before.",
            tank=amount(set_.tank, set_.curve.unit),
            days=about(set_.tank / fuel),
        )


def how_to_run(rule: Rule) -> Phrase:
    """The rule as an order."""
    values: dict[str, Any] = {
        "start": rule.start_soc,
        "stop": rule.stop_soc,
        "limit": _amperes(rule.limit_a),
    }
    if rule.run is None:
        return Phrase(
            "Start it when the battery is down to {start:%}, stop it at {stop:%}, with the input limit at {limit}.",
            **values,
        )
    return Phrase(
        "Start it every day from {since} to {until} if the battery is below {below:%}, at other times at {start:%} "
        "only; stop it at {stop:%}, with the input limit at {limit}.",
        **values,
        since=clock(rule.run.start),
        until=clock(rule.run.until),
        below=rule.run_below,
    )


def _supply(chosen: RuleOutcome) -> Iterator[Phrase]:
    if chosen.unserved_share <= UNSERVED:
        yield Phrase("As long as there is fuel the house is supplied throughout.")
    else:
        yield Phrase(
            "Even so {share} of what the house asks for can't be supplied.",
            share=f"{about(100 * chosen.unserved_share)} %",
        )


def _table(found: Outlook) -> Iterator[str]:
    shown = told_rules(found)
    rows = [[*rule_heads(found), ""]]
    rows += [[*rule_cells(found.rules[n], found.question.horizon), ""] for n in shown]
    rows[1 + shown.index(found.best)][-1] = tr("← best")
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    for row in rows:
        cells = [cell.rjust(width) for cell, width in zip(row[:-1], widths, strict=False)]
        yield ("  " + "  ".join([*cells, row[-1]])).rstrip()
    left = len(found.rules) - len(shown)
    if left:
        yield "  " + str(
            Phrase(
                "{count:d} more, with other limits, come to nearly the same or are worse: see --json.",
                count=left,
            )
        )


def told_rules(found: Outlook) -> list[int]:
    """Numbers of the rules worth a line: all with the best one's limit, those by the clock, and of each other limit
    the thriftiest."""
    rules = found.rules
    best = rules[found.best].rule
    told = {n for n, one in enumerate(rules) if one.rule.limit_a == best.limit_a or one.rule.run is not None}
    for limit in {one.rule.limit_a for one in rules} - {best.limit_a}:
        same = [n for n, one in enumerate(rules) if one.rule.limit_a == limit and one.rule.run is None]
        same.sort(
            key=lambda n: (rules[n].unserved_share, rules[n].fuel_per_day.p50, rules[n].starts_per_day.p50)
        )
        told.update(same[:_OF_EACH_LIMIT])
    return sorted(told)


def rule_heads(found: Outlook) -> list[str]:
    """The heads of the columns of `rule_cells`."""
    return [
        tr("start"),
        tr("stop"),
        tr("limit"),
        tr("hours a day"),
        tr("starts a day"),
        str(Phrase("{unit} a day", unit=found.plant.generator.curve.unit)),
        tr("fuel lasts, days"),
        tr("not supplied"),
    ]


def rule_cells(one: RuleOutcome, horizon: int) -> list[str]:
    """A rule and what came of it, cell by cell."""
    rule = one.rule
    start = f"{decimal(rule.start_soc, 0)} %"
    if rule.run is not None:
        start = f"{clock(rule.run.start)}–{clock(rule.run.until)}, {start}"
    return [
        start,
        f"{decimal(rule.stop_soc, 0)} %",
        _amperes(rule.limit_a),
        decimal(one.hours_per_day.p50, 1),
        decimal(one.starts_per_day.p50, 1),
        decimal(one.fuel_per_day.p50, 1),
        _lasts(one.days_of_fuel, horizon),
        f"{decimal(100 * one.unserved_share, 1)} %",
    ]


def _amperes(limit: float) -> str:
    return f"{decimal(limit, 0 if limit >= 20 else 1)} A"


def _lasts(lasts: Spread, horizon: int) -> str:
    if not math.isfinite(lasts.p10):
        return days(lasts.p10, horizon)
    return f"{days(lasts.p50, horizon)} ({days_range(lasts, horizon)})"


def _basis(assumptions: Sequence[Assumption]) -> Iterator[str]:
    for source, title in SOURCES.items():
        told = [one for one in assumptions if one.source == source]
        if told:
            yield f"  {tr(title)}"
            yield from (f"    {assumed_text(one)}" for one in told)


def assumed_text(one: Assumption) -> str:
    """A value that it rests on, in a line."""
    value = one.value if isinstance(one.value, str) else plain(one.value)
    return f"{tr(one.label)}: {value} {one.unit}".rstrip()
