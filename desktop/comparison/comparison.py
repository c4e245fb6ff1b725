"""The comparison as a whole."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from desktop.charging.fuel.curve import fuel_unit
from desktop.comparison.charge import Raising, common_range
from desktop.comparison.estimate import UNKNOWN, Estimate, Verdict, change, verdict
from desktop.comparison.findings import FindingChange, finding_changes
from desktop.comparison.quantities import RUNNING, fuel_per_kwh
from desktop.comparison.settings import SettingChange, setting_changes
from desktop.comparison.side import Side
from desktop.review import Review
from desktop.words import Phrase, template


@dataclass(frozen=True, slots=True)
class Row:
    """One quantity on both sides.

    unit    a key of `shown.UNITS`
    change  what B is more than A
    """

    key: str
    label: Phrase
    unit: str
    a: Estimate
    b: Estimate
    change: Estimate

    @property
    def verdict(self) -> Verdict:
        """Whether that is more than chance."""
        return verdict(self.change)


@dataclass(frozen=True, slots=True)
class Comparison:
    """What changed from A to B.

    same_meters  both were recorded with the same meters, as far as names and classes tell
    soc_range    the states of charge over which time and fuel of 10 points are reckoned, %; NaN where the two
                 sides have too few in common
    """

    a: Side
    b: Side
    rows: tuple[Row, ...]
    findings: tuple[FindingChange, ...]
    settings: tuple[SettingChange, ...]
    same_meters: bool
    soc_range: tuple[float, float]


def compare(a: Review, b: Review, session_a: int | None = None, session_b: int | None = None) -> Comparison:
    """Compare two reviews, which may be one and the same.

    session_a, session_b  the number of the one charge session that counts, from 1; None for all of them
    UsageError where there is no such session.
    """
    left, right = Side(a, session_a), Side(b, session_b)
    same, soc_range = _same_meters(a, b), common_range(left, right)
    return Comparison(
        a=left,
        b=right,
        rows=(*_running(left, right, same), *_raising(left, right, soc_range)),
        findings=finding_changes(left, right),
        settings=setting_changes(a.site, b.site),
        same_meters=same,
        soc_range=soc_range,
    )


def _running(a: Side, b: Side, same: bool) -> Iterator[Row]:
    for each in RUNNING:
        yield _row(each.key, each.label, each.unit, each.of(a), each.of(b), same)
    yield _of_fuel(
        a, b, "fuel_per_kwh", template("Fuel for each kWh"), "/kWh", fuel_per_kwh(a), fuel_per_kwh(b)
    )


def _raising(a: Side, b: Side, soc_range: tuple[float, float]) -> Iterator[Row]:
    left, right = Raising.of(a, *soc_range), Raising.of(b, *soc_range)
    label = template("Time to raise the charge by 10 points")
    yield _row("seconds_per_10_points", label, "s", left.seconds, right.seconds)
    label = template("Fuel to raise the charge by 10 points")
    yield _of_fuel(a, b, "fuel_per_10_points", label, "", left.fuel, right.fuel)


def _of_fuel(a: Side, b: Side, key: str, label: str, per: str, left: Estimate, right: Estimate) -> Row:
    """Amounts of two different fuels can't be held against each other."""
    units = {fuel_unit(side.review.site) for side in (a, b)} - {None}
    row = _row(key, label, f"{units.pop()}{per}" if len(units) == 1 else "", left, right, _same_fuel(a, b))
    return row if row.unit else replace(row, change=UNKNOWN)


def _row(key: str, label: str, unit: str, a: Estimate, b: Estimate, same: bool = True) -> Row:
    return Row(key, Phrase(label), unit, a, b, change(a, b, same_meters=same))


def _same_fuel(a: Side, b: Side) -> bool:
    return a.review.fuel.curve == b.review.fuel.curve


def _same_meters(a: Review, b: Review) -> bool:
    if a is b:
        return True
    left, right = a.site, b.site
    columns = [review.recording.provenance.columns for review in (a, b)]
    return left.site.name == right.site.name and left.meters == right.meters and columns[0] == columns[1]
