"""An outlook's bands and marks as charts to be painted."""

from __future__ import annotations

from desktop.charging.outlook.choice import UNSERVED
from desktop.charging.outlook.outlook import Outlook
from desktop.charging.outlook.rule import Rule
from desktop.picture.charts.chart import Area, Chart, Curve, Dot, Shape, Stretch
from desktop.picture.outlook import BandChart, Mark, fuel_chart, rules_chart, soc_chart
from desktop.words import Phrase

_ROLES = ("battery", "generator")


def soc_by_hour(found: Outlook, rule: int) -> Chart:
    """State of charge over the hours of a day under a rule, beside the best one."""
    chart = soc_chart(found, _beside(found, rule))
    told = Phrase(
        "Lowest in the median {low:%}, highest {high:%}.",
        low=float(chart.bands[0].middle.min()),
        high=float(chart.bands[0].middle.max()),
    )
    drawn = _banded(found, chart, told)
    quiet = found.question.quiet
    if quiet is None:
        return drawn
    parts = (
        [(quiet.start, quiet.until)]
        if quiet.start < quiet.until
        else [(quiet.start, 24.0), (0.0, quiet.until)]
    )
    still = tuple(Stretch(Phrase("quiet hours"), start, until) for start, until in parts if until > start)
    return Chart(drawn.title, drawn.x, drawn.y, told, drawn.curves, drawn.areas, stretches=still)


def fuel_over_days(found: Outlook, rule: int) -> Chart | None:
    """What is left of the fuel over the days; None where it isn't known how much there is."""
    chart = fuel_chart(found, _beside(found, rule))
    if chart is None:
        return None
    left = float(chart.bands[0].middle[-1])
    told = Phrase(
        "After {days:d} days {left:.0f} {unit} are left in the median.",
        days=found.question.horizon,
        left=left,
        unit=found.plant.generator.curve.unit,
    )
    return _banded(found, chart, told)


def rules_compared(found: Outlook) -> Chart:
    """Every rule by its hours and its fuel a day."""
    chart = rules_chart(found, UNSERVED)
    told = Phrase(
        "{count:d} rules; the best one is number {best:d}.", count=len(chart.marks), best=found.best + 1
    )
    # The best one is drawn last, over the others.
    dots = tuple(_dot(mark) for mark in sorted(chart.marks, key=lambda mark: mark.best))
    return Chart(Phrase("Rules by {fuel}", fuel=chart.y.label), chart.x, chart.y, told, dots=dots)


def short_name(number: int, rule: Rule) -> Phrase:
    """A rule in a few words: its number and when it starts and stops."""
    return Phrase(
        "rule {number:d} ({start:%} to {stop:%})", number=number + 1, start=rule.start_soc, stop=rule.stop_soc
    )


def _beside(found: Outlook, rule: int) -> tuple[int, ...]:
    return (rule,) if rule == found.best else (rule, found.best)


def _banded(found: Outlook, chart: BandChart, told: Phrase) -> Chart:
    names = [short_name(band.rule, found.rules[band.rule].rule) for band in chart.bands]
    curves = tuple(
        Curve(Phrase("{rule}, median", rule=name), role, band.x, band.middle)
        for name, role, band in zip(names, _ROLES, chart.bands, strict=False)
    )
    areas = tuple(
        Area(Phrase("8 of 10 courses"), role, band.x, band.low, band.high)
        for role, band in zip(_ROLES, chart.bands, strict=False)
    )
    return Chart(chart.y.label, chart.x, chart.y, told, curves, areas)


def _dot(mark: Mark) -> Dot:
    shape: Shape = "star" if mark.best else "disc" if mark.served else "cross"
    label = (
        Phrase("best")
        if mark.best
        else Phrase("keeps the house supplied")
        if mark.served
        else Phrase("leaves it short")
    )
    role = "text" if mark.best else "load" if mark.served else "attend"
    return Dot(label, role, mark.x[1], mark.y[1], shape, (mark.x[0], mark.x[2]), (mark.y[0], mark.y[2]))
