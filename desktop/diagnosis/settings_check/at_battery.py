"""Checks of what goes into the battery and comes out of it."""

from __future__ import annotations

import math

from desktop.diagnosis.plant import Plant, lead_acid_cells, lithium_cells
from desktop.diagnosis.settings_check.book import SettingsEvidence
from desktop.diagnosis.settings_check.check import Check, Source, State, Value, not_known
from desktop.words import Phrase

LEAST_CELL_V = {"lfp": 2.8, "nmc": 3.2, "flooded": 1.8, "agm": 1.8, "gel": 1.8}
"""Per cell under load, where discharging should have ended: common practice, no source; the maker's data first."""

USUAL_WARMEST_C = {"lfp": 45.0, "nmc": 45.0, "flooded": 50.0, "agm": 50.0, "gel": 50.0}
"""Above this batteries aren't charged as a rule (common practice, no source; the maker's data go first)."""

_LEAST_WH = 100.0
_LEAST_S = 600.0
_DEGREE = 1.0
_BELOW_SOC = 2.0
_STARTS_ABOVE = 10.0
"""So many points above the reserve a generator is usually started (common practice, no source)."""


def charger_within_battery(plant: Plant, seen: SettingsEvidence | None) -> Check:
    """The charger's limit against the most that the battery may take."""
    if seen is not None and not math.isnan(seen.charge_most_a):
        return _charger_within(plant, seen.charge_most_a, "measured")
    return _charger_within(plant, plant.charger_a, "given")


def _charger_within(plant: Plant, limit: float, source: Source) -> Check:
    values = (
        Value("charger_a", Phrase("Charger limit"), limit, "A", source),
        Value("battery_a", Phrase("Highest charge current"), plant.battery_a, "A", "given"),
    )
    title = Phrase("Charger limit against what the battery may take")
    how = Phrase(
        "The charger's limit is a setting of the inverter-charger, in amperes of direct current. What the battery "
        "may take stands on its data sheet; of batteries side by side the sum counts, less some margin for an "
        "uneven share. The sun charges beside it: solar chargers have a limit of their own."
    )
    if math.isnan(limit) or math.isnan(plant.battery_a):
        means = not_known(
            (Phrase("the charger's limit"), not math.isnan(limit)),
            (Phrase("the battery's highest charge current"), not math.isnan(plant.battery_a)),
        )
        return Check("charger_within_battery", "unknown", title, values, means, how)
    if limit > plant.battery_a:
        means = Phrase(
            "The charger may give {limit:A}; the battery may take {most:A}. It ages early or switches itself off. "
            "Set the charger to {most:A} or less.",
            limit=limit,
            most=plant.battery_a,
        )
        set_to = Phrase("Set the charger to {most:A} or less.", most=plant.battery_a)
        return Check("charger_within_battery", "fail", title, values, means, how, set_to)
    means = Phrase("{limit:A} are within the {most:A} that it may take.", limit=limit, most=plant.battery_a)
    return Check("charger_within_battery", "pass", title, values, means, how)


def charger_off_on_grid(plant: Plant, seen: SettingsEvidence | None) -> Check:
    """Whether the charger takes from the grid though it should not."""
    meant = plant.site.charger.on_grid
    title = Phrase("Charger on the grid only where it is meant to be")
    how = Phrase(
        "Inverter-chargers have a setting that says from which sources, or at which hours, they charge; see that "
        "it leaves the grid out, or takes it in, as it is meant."
    )
    amount = math.nan if seen is None else seen.from_grid_wh
    values = (Value("from_grid_wh", Phrase("Charged from the grid"), amount, "Wh", "measured"),)
    if meant is None:
        means = Phrase("Not known: the site sheet doesn't say whether it is meant to charge from the grid.")
        return Check("charger_off_on_grid", "unknown", title, values, means, how)
    if seen is None or math.isnan(amount) or seen.grid_s < _LEAST_S:
        means = Phrase("Not known: it takes a recording of a time in which the grid was there.")
        return Check("charger_off_on_grid", "unknown", title, values, means, how)
    if not meant and amount > _LEAST_WH:
        means = Phrase(
            "{amount:Wh} went from the grid into the battery, against what is meant.", amount=amount
        )
        return Check("charger_off_on_grid", "fail", title, values, means, how)
    means = Phrase("{amount:Wh} went from the grid into the battery, as it is meant.", amount=amount)
    return Check("charger_off_on_grid", "pass", title, values, means, how)


def cut_off_above_reserve(plant: Plant, seen: SettingsEvidence | None) -> Check:
    """The inverter's cut-off against the reserve."""
    battery, inverter = plant.site.battery, plant.site.inverter
    reserve = battery.reserve_soc
    at_soc, at_v = _known(inverter.cut_off_soc), _known(inverter.cut_off_v)
    least_v = _least_v(plant)
    lowest = math.nan if seen is None else seen.lowest_soc
    values = (
        Value("cut_off_soc", Phrase("Cut-off, state of charge"), at_soc, "%", "given"),
        Value("cut_off_v", Phrase("Cut-off, voltage"), at_v, "V", "given"),
        Value("reserve_soc", Phrase("Reserve"), reserve, "%", _given(plant, "battery", "reserve_soc")),
        Value("least_v", Phrase("Usual lowest voltage"), least_v, "V", "assumed"),
        Value("lowest_soc", Phrase("Lowest state of charge"), lowest, "%", "measured"),
    )
    title = Phrase("Low-battery cut-off against the reserve")
    state, means = _cut_off(at_soc, at_v, reserve, least_v, lowest)
    if state == "fail" and not at_v < least_v and _given(plant, "battery", "reserve_soc") == "assumed":
        state, means = "unknown", not_known((Phrase("the reserve that the household wants to keep"), False))
    set_to = Phrase("")
    if state == "fail":
        set_to = Phrase(
            "Set the cut-off to {reserve:%} or somewhat more, and let the generator start well above it, such as "
            "at {start:%} (common practice).",
            reserve=reserve,
            start=_start(reserve),
        )
        if at_v < least_v and not at_soc < reserve:
            set_to = Phrase("Set the cut-off to {least:V} or somewhat more.", least=least_v)
    how = _how_cut_off(reserve, set_to)
    return Check("cut_off_above_reserve", state, title, values, means, how, set_to)


def _how_cut_off(reserve: float, set_to: Phrase) -> Phrase:
    how = Phrase(
        "It is a setting of the inverter, or of the battery's own management: the state of charge or voltage at "
        "which it stops taking from the battery. A state of charge is the surer measure; voltage sags under load."
    )
    if set_to:
        return Phrase("{set_to} {how}", set_to=set_to, how=how)
    start = Phrase(
        "Let the generator start well above it, such as at {start:%} (common practice).",
        start=_start(reserve),
    )
    return Phrase("{how} {start}", how=how, start=start)


def _start(reserve: float) -> float:
    """The state of charge at which a generator is usually started, %."""
    return min(reserve + _STARTS_ABOVE, 100.0)


def _cut_off(
    at_soc: float, at_v: float, reserve: float, least_v: float, lowest: float
) -> tuple[State, Phrase]:
    if at_soc < reserve:
        return "fail", Phrase(
            "The inverter goes on down to {cut:%}, below the reserve of {reserve:%}: nothing keeps the reserve.",
            cut=at_soc,
            reserve=reserve,
        )
    if at_v < least_v:
        return "fail", Phrase(
            "The inverter goes on down to {cut:V}; discharging should have ended at {least:V}, as a rule.",
            cut=at_v,
            least=least_v,
        )
    if lowest < reserve - _BELOW_SOC:
        return "fail", Phrase(
            "The battery went down to {lowest:%} while the inverter took from it, below the reserve of "
            "{reserve:%}: the cut-off doesn't keep the reserve.",
            lowest=lowest,
            reserve=reserve,
        )
    if not math.isnan(at_soc):
        return "pass", Phrase(
            "The inverter stops at {cut:%}; the reserve is {reserve:%}.", cut=at_soc, reserve=reserve
        )
    if not math.isnan(at_v) and not math.isnan(least_v):
        return "unknown", Phrase(
            "{cut:V} spares the cells, but whether it keeps the reserve of {reserve:%} can't be told: voltage says "
            "little of the state of charge.",
            cut=at_v,
            reserve=reserve,
        )
    return "unknown", Phrase("Not known: it takes the inverter's cut-off, as a state of charge or a voltage.")


def _least_v(plant: Plant) -> float:
    battery = plant.site.battery
    cells = lead_acid_cells(battery) if plant.lead_acid else lithium_cells(battery)
    return LEAST_CELL_V.get(battery.chemistry or "", math.nan) * cells if cells else math.nan


def charge_within_temperatures(plant: Plant, seen: SettingsEvidence | None) -> Check:
    """The temperatures at which the battery is charged against those at which it may be."""
    battery = plant.site.battery
    least = plant.coldest_charge_c
    most = _known(battery.max_charge_c)
    if math.isnan(most):
        most = USUAL_WARMEST_C.get(battery.chemistry or "", math.nan)
    coldest = math.nan if seen is None else seen.coldest_c
    warmest = math.nan if seen is None else seen.warmest_c
    values = (
        Value(
            "min_charge_c",
            Phrase("Coldest for charging"),
            least,
            "°C",
            _given(plant, "battery", "min_charge_c"),
        ),
        Value(
            "max_charge_c",
            Phrase("Warmest for charging"),
            most,
            "°C",
            _given(plant, "battery", "max_charge_c"),
        ),
        Value("coldest_c", Phrase("Coldest while charging"), coldest, "°C", "measured"),
        Value("warmest_c", Phrase("Warmest while charging"), warmest, "°C", "measured"),
    )
    title = Phrase("Charging within the battery's temperatures")
    how = Phrase(
        "Every source that charges must know the battery's temperature and stop outside its window: the charger by "
        "a sensor on the battery or by the battery's own management, each solar charger too. The window stands on "
        "the battery's data sheet."
    )
    state, means = _temperatures(plant, least, most, coldest, warmest)
    return Check("charge_within_temperatures", state, title, values, means, how)


def _temperatures(
    plant: Plant, least: float, most: float, coldest: float, warmest: float
) -> tuple[State, Phrase]:
    usual = 0.0 if plant.site.battery.chemistry in ("lfp", "nmc") else -math.inf
    if coldest < least - _DEGREE:
        return "fail", Phrase(
            "It was charged at {celsius:°C}, below the {least:°C} at which charging must stop.",
            celsius=coldest,
            least=least,
        )
    if warmest > most + _DEGREE:
        return "fail", Phrase(
            "It was charged at {celsius:°C}, above the {most:°C} at which charging must stop.",
            celsius=warmest,
            most=most,
        )
    if least < usual:
        return "fail", Phrase(
            "The sheet allows charging down to {least:°C}: lithium cells are damaged for good when charged below "
            "freezing, unless the maker says otherwise.",
            least=least,
        )
    if not math.isnan(coldest) and not math.isnan(least):
        return "pass", Phrase(
            "It was charged between {coldest:°C} and {warmest:°C}; {least:°C} to {most:°C} are allowed.",
            coldest=coldest,
            warmest=warmest,
            least=least,
            most=most,
        )
    return "unknown", not_known(
        (Phrase("a recording of the battery's temperature while it is charged"), not math.isnan(coldest)),
        (Phrase("the battery's chemistry"), not math.isnan(least)),
    )


def _given(plant: Plant, section: str, key: str) -> Source:
    return "given" if plant.site.given(section, key) else "assumed"


def _known(value: float | None) -> float:
    return math.nan if value is None else float(value)
