"""The plant to reckon with, out of the site sheet and a recording; what neither tells is assumed, and said so."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from desktop.charging.battery.chemistry import absorb_v
from desktop.charging.derating import rated_w
from desktop.charging.forecast.room import UNEVEN
from desktop.charging.fuel.curve import FuelCurve, fuel_curve
from desktop.charging.outlook.assumption import Assumption, Note, Source
from desktop.charging.outlook.evidence import Evidence
from desktop.charging.outlook.plant import ConverterFacts, GeneratorFacts, PlantFacts
from desktop.charging.outlook.storage import storage_of
from desktop.flow.conversion import assumed_for
from desktop.site import Site
from desktop.words import template
from recordings.errors import UsageError
from recordings.recording import Recording

UNLOADED_S = 180.0
"""A set warms up for some two minutes and cools down for one (common practice, no source)."""

_STEEPEST = 0.5
"""No converter loses more of what passes."""


@dataclass(frozen=True, slots=True)
class Reckoned:
    """The plant, the state of charge that it begins with, and what all of it rests on."""

    plant: PlantFacts
    start_soc: float
    assumptions: tuple[Assumption, ...]


def reckoned(
    site: Site, evidence: Evidence | None, *, fuel: float | None = None, soc: float | None = None
) -> Reckoned:
    """The plant of a sheet.

    evidence  what its recording tells; None without one
    fuel      how much there is, in the curve's unit; None takes the tank and the store of the sheet
    soc       state of charge at the beginning, %; None takes the last recorded one

    UsageError where the sheet doesn't give what can't be assumed.
    """
    found: list[Assumption] = []

    def note(name: str, label: str, value: float | str, unit: str, source: Source) -> None:
        found.append(Assumption(name, label, value, unit, source))

    volts = _charging_v(site, evidence)
    storage = storage_of(site, evidence, volts, note)
    converter = _converter(site, evidence, volts, note)
    generator = _generator(site, evidence, fuel, note)
    last = None if evidence is None else evidence.soc
    start = soc if soc is not None else last if last is not None else 50.0
    how: Source = "given" if soc is not None else "recorded" if last is not None else "assumed"
    note("start_soc", template("State of charge at the beginning"), start, "%", how)
    return Reckoned(PlantFacts(storage, converter, generator), start, tuple(found))


def _charging_v(site: Site, evidence: Evidence | None) -> float:
    """The battery's voltage while it is charged, V; NaN where nothing tells."""
    seen = None if evidence is None else evidence.charging_v
    if seen is not None:
        return seen
    nominal = site.battery.nominal_v
    if nominal is None:
        return math.nan
    top = absorb_v(site.battery)
    return (nominal + top) / 2 if top > nominal else nominal


_as_given: Source = "given"
_as_assumed: Source = "assumed"


def _converter(site: Site, evidence: Evidence | None, volts: float, note: Note) -> ConverterFacts:
    law = evidence.learned.conversion if evidence is not None else assumed_for(Recording(), site)
    share = None if evidence is None else evidence.loss_share()
    if share is not None:
        law = replace(law, idle_w=law.idle_w * share, slope=min(law.slope * share, _STEEPEST))
    how: Source = "recorded" if law.source == "fitted" else "assumed"
    note("converter_idle_w", template("Converter's loss without load"), law.idle_w, "W", how)
    note("converter_slope", template("Converter's loss of what passes"), 100 * law.slope, "%", how)
    inverter, charger = site.inverter.rated_w, site.charger.rated_w or site.inverter.rated_w
    if inverter is not None:
        note("inverter_w", template("Inverter rating"), inverter, "W", "given")
    if charger is not None:
        source: Source = "given" if site.charger.rated_w is not None else "assumed"
        note("charger_ac_w", template("Charger rating"), charger, "W", source)
    dc = math.inf
    if site.charger.limit_a is not None and volts > 0:
        dc = site.charger.limit_a * volts
        note("charger_dc_w", template("What the charger limit lets through"), dc, "W", "given")
    facts = ConverterFacts(law.idle_w, law.slope, inverter or math.inf, charger or math.inf, dc)
    # A recorded load has taken in whatever the law is off; a typed one hasn't.
    return facts if evidence is not None else replace(facts, idle_sd_w=law.idle_sd_w, slope_sd=law.slope_sd)


def _generator(site: Site, evidence: Evidence | None, fuel: float | None, note: Note) -> GeneratorFacts:
    rated = rated_w(site)
    if math.isnan(rated):
        raise _lacking("how much the generator can carry", "rated_w")
    note("generator_w", template("What the generator can carry"), rated, "W", "given")
    curve = evidence.curve if evidence is not None else fuel_curve(site)
    if curve is None:
        raise _lacking("what the generator burns", "fuel")
    how: Source = {"data sheet": _as_given, "assumed": _as_assumed}.get(curve.source, "recorded")
    note("fuel_idle", template("Fuel without load"), curve.idle, f"{curve.unit}/h", how)
    note("fuel_per_kwh", template("Fuel for each kWh more"), curve.per_kwh, f"{curve.unit}/kWh", how)
    volts, volts_how = site.generator.volts, _as_given
    if volts is None and evidence is not None and evidence.learned.volts > 0:
        volts, volts_how = evidence.learned.volts, "recorded"
    if volts is None:
        raise _lacking("the generator's voltage", "volts")
    note("generator_v", template("Generator voltage"), volts, "V", volts_how)
    note("unloaded_s", template("Running without load at each start"), UNLOADED_S, "s", "assumed")
    per_a = volts * site.generator.legs * site.generator.power_factor
    store = _store(site, evidence, curve, fuel, note)
    uneven = _uneven(site, evidence, volts, note)
    return GeneratorFacts(rated, curve, per_a, UNLOADED_S, store, site.generator.tank or math.inf, uneven)


def _uneven(site: Site, evidence: Evidence | None, volts: float, note: Note) -> float:
    """By so much of the load the busiest leg takes more off the input limit than its even share."""
    set_ = site.generator
    if set_.legs == 1:
        return 0.0
    label = template("Of the load, what the busiest leg takes more than its share")
    per_leg = volts * set_.power_factor
    seen = None if evidence is None else evidence.uneven(set_.legs, per_leg)
    if seen is None and evidence is not None:
        seen = evidence.uneven_by_limit(site, per_leg * set_.legs)
    if seen is not None:
        note("uneven", label, 100 * seen, "%", "recorded")
        return seen
    usual = UNEVEN * (set_.legs - 1)
    note("uneven", label, 100 * usual, "%", "assumed")
    return usual


def _store(site: Site, evidence: Evidence | None, curve: FuelCurve, fuel: float | None, note: Note) -> float:
    label = template("Fuel at hand")
    if fuel is not None:
        note("fuel", label, fuel, curve.unit, "given")
        return fuel
    left = None if evidence is None else evidence.tank
    tank, kept = site.generator.tank, site.generator.store or 0.0
    inside = left.amount if left is not None else tank or 0.0
    if not inside + kept > 0:
        return math.inf
    how: Source = "recorded" if left is not None else "assumed" if tank is not None else "given"
    note("fuel", label, inside + kept, curve.unit, how)
    return inside + kept


def _lacking(what: str, key: str) -> UsageError:
    return UsageError(
        f"{what} isn't known",
        expected=f"{key} under [generator] in the site sheet",
        mend="write it there, off the generator's plate",
    )
