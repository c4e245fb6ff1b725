"""Fuel in words."""

from __future__ import annotations

from desktop.charging.fuel.curve import FuelCurve, Source
from desktop.charging.fuel.runs import Burnt
from desktop.charging.fuel.tank import TankLeft
from desktop.words import Phrase, decimal, template

LEAST_EXTRA = 0.15
"""Low load is worth a word from this share of the fuel on that is burnt for nothing."""

_SOURCES: dict[Source, str] = {
    "data sheet": template("By the data sheet, give or take {sd:%}."),
    "assumed": template(
        "Assumed for a generator of this size, give or take {sd:%}: its data sheet would tell better."
    ),
    "refills": template("Calibrated by the refills noted, give or take {sd:%}."),
    "fuel gauge": template("Calibrated by the fuel gauge, give or take {sd:%}."),
    "refills and fuel gauge": template("Calibrated by refills and fuel gauge, give or take {sd:%}."),
}
FINE = 0.095
"""An amount that is known to less than this is told with a decimal more."""

_LEFT = {
    "fuel gauge": template("{amount:.0f} {unit} are left in the tank, by its gauge."),
    "refill": template("{amount:.0f} {unit} are left in the tank, reckoned from the last full one."),
}


def burnt_phrase(burnt: Burnt) -> Phrase:
    """What was burnt; empty where it isn't known."""
    if not burnt.amount > 0:
        return Phrase("")
    return Phrase(
        "The generator burnt {amount} ± {sd} {unit}: {each:.2f} {unit} for each kWh.",
        amount=decimal(burnt.amount, 2 if burnt.sd < FINE else 1),
        sd=decimal(burnt.sd, 2 if burnt.sd < FINE else 1),
        unit=burnt.unit,
        each=burnt.each_kwh,
    )


def low_load_phrase(burnt: Burnt, curve: FuelCurve) -> Phrase:
    """What low load cost; empty where it cost little."""
    if not burnt.extra >= LEAST_EXTRA * burnt.amount:
        return Phrase("")
    return Phrase(
        "At {share:%} of its rating it burnt {each:.2f} {unit} for each kWh, at three quarters {best:.2f}: "
        "{extra:.1f} {unit} more.",
        share=100 * burnt.load_share,
        each=burnt.each_kwh,
        best=curve.best_each_kwh,
        extra=burnt.extra,
        unit=burnt.unit,
    )


def curve_phrase(curve: FuelCurve) -> Phrase:
    """Where the figures are from, and how good they are."""
    return Phrase(_SOURCES[curve.source], sd=100 * curve.sd)


def left_phrase(left: TankLeft, unit: str) -> Phrase:
    """What the tank still holds."""
    return Phrase(_LEFT[left.source], amount=left.amount, unit=unit)
