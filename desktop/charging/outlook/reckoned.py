"""The plant to reckon with, out of the site sheet and a recording; what neither tells is assumed, and said so."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from desktop.charging.battery.chemistry import CHEMISTRIES, Chemistry, absorb_v, chemistry_of
from desktop.charging.battery.facts import Estimate
from desktop.charging.derating import rated_w
from desktop.charging.fuel.curve import FuelCurve, fuel_curve
from desktop.charging.outlook.assumption import Assumption, Source
from desktop.charging.outlook.evidence import Evidence
from desktop.charging.outlook.plant import ConverterFacts, GeneratorFacts, PlantFacts, Storage
from desktop.flow.conversion import assumed_for
from desktop.site import Site
from desktop.words import template
from recordings.errors import UsageError
from recordings.recording import Recording

UNLOADED_S = 180.0
"""A set warms up for some two minutes and cools down for one (common practice, no source)."""

_USUAL_EFFICIENCY = 0.93
_USUAL_ACCEPT_C = 0.3
_LEAD_AT_FULL = 0.42
"""What lead-acid keeps when it is nearly full, over what it keeps before (after Stevens & Corey, Sandia 1996, whose
figures are quoted from memory)."""

_WELL_KNOWN = 0.1
"""A measured value whose 95 % interval is wider than ± this share tells less than a name plate."""

Note = Callable[[str, str, float | str, str, Source], None]


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
    storage = _storage(site, evidence, volts, note)
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


def _storage(site: Site, evidence: Evidence | None, volts: float, note: Note) -> Storage:
    battery, kind = site.battery, chemistry_of(site.battery)
    capacity = _capacity_wh(site, evidence, note)
    note(
        "reserve_soc",
        template("Reserve of the battery"),
        battery.reserve_soc,
        "%",
        "given" if site.given("battery", "reserve_soc") else "assumed",
    )
    efficiency = _efficiency(capacity, kind, evidence, note)
    if battery.max_charge_a is not None and volts > 0:
        charge, how = battery.max_charge_a * volts, _as_given
    else:
        charge, how = capacity * (kind.accept_c.value if kind is not None else _USUAL_ACCEPT_C), _as_assumed
    note("charge_w", template("Highest charge power of the battery"), charge, "W", how)
    taper = _taper_soc(charge / capacity, kind or CHEMISTRIES["lfp"])
    note("taper_soc", template("At that power charging slows down from"), taper, "%", "assumed")
    share = _LEAD_AT_FULL if kind is not None and kind.lead_acid else 1.0
    before = _before_taper(efficiency, share, taper)
    return Storage(capacity, battery.reserve_soc, charge, before, before * share, taper)


def _taper_soc(charge_c: float, kind: Chemistry) -> float:
    """From where on a battery takes less than this, %.

    What it accepts near full falls by so many C per point, whatever it may take before; and C is a current, which
    comes at a higher voltage in than out.
    """
    higher = (1 + kind.absorb_v.value / kind.cell_v) / 2
    return max(0.0, 100 - charge_c / (kind.taper_c_per_soc * higher))


_as_given: Source = "given"
_as_assumed: Source = "assumed"


def _told_to(value: Estimate, share: float) -> bool:
    """Whether the recording tells it to so much of its value, either way."""
    return value.origin == "measured" and value.high - value.low <= 2 * share * value.value


def _capacity_wh(site: Site, evidence: Evidence | None, note: Note) -> float:
    label = template("Battery capacity")
    measured = None if evidence is None else evidence.battery.capacity_wh
    given = site.battery.capacity_kwh
    if measured is not None and _told_to(measured, _WELL_KNOWN):
        note("capacity_kwh", label, measured.value / 1000, "kWh", "recorded")
        return measured.value
    if given is None:
        raise UsageError(
            "the capacity of the battery isn't known",
            expected="capacity_kwh under [battery] in the site sheet",
            mend="write it there, off the battery's plate",
        )
    note("capacity_kwh", label, given, "kWh", "given")
    return given * 1000


def _efficiency(capacity_wh: float, kind: Chemistry | None, evidence: Evidence | None, note: Note) -> float:
    label = template("Energy that the battery gives back of what it takes")
    turned_over = None if evidence is None else evidence.round_trip(capacity_wh)
    if turned_over is not None:
        note("battery_efficiency", label, 100 * turned_over, "%", "recorded")
        return turned_over
    seen = None if evidence is None else evidence.battery.energy_efficiency
    if seen is not None and _told_to(seen, _WELL_KNOWN / 2):
        note("battery_efficiency", label, 100 * seen.value, "%", "recorded")
        return seen.value
    usual = kind.energy.value if kind is not None else _USUAL_EFFICIENCY
    note("battery_efficiency", label, 100 * usual, "%", "assumed")
    return usual


def _before_taper(whole: float, share: float, taper_soc: float) -> float:
    """The efficiency below the taper that makes a whole charge as efficient as told.

    share  what is left of it at 100 %, to which it falls in a straight line
    """
    if share == 1.0:
        return whole
    # The mean of 1 / efficiency over the falling part, times the efficiency before it.
    falling = -math.log(share) / (1 - share)
    part = 1 - taper_soc / 100
    return min(1.0, whole * (1 - part + part * falling))


def _converter(site: Site, evidence: Evidence | None, volts: float, note: Note) -> ConverterFacts:
    law = evidence.learned.conversion if evidence is not None else assumed_for(Recording(), site)
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
    return ConverterFacts(law.idle_w, law.slope, inverter or math.inf, charger or math.inf, dc)


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
    return GeneratorFacts(rated, curve, per_a, UNLOADED_S, store, site.generator.tank or math.inf)


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
        mend="write it there, off the set's plate",
    )
