"""The battery's voltage, temperature and reserve."""

from __future__ import annotations

from functools import partial

import numpy as np

from desktop.diagnosis.alarm import Event, Stage, Treatment
from desktop.diagnosis.plant import Plant, lead_acid_cells, lithium_cells
from desktop.diagnosis.rows import Rows, applied, known
from desktop.diagnosis.watch import Floats, Reading, Told, Watch, during, lasted_s
from desktop.site import Battery
from desktop.words import Phrase

_REFERENCE_C = 25.0
_ASSUMED_C = 10.0
_COLD_V, _WARM_V = -0.005, -0.003
"""Per lead-acid cell and °C: the steepest compensation in use below 25 °C and the flattest above it, so that
any charger that compensates stays within."""

_MARGIN = 1.02
_MARGIN_OF_MAXIMUM = 1.01
_HIGHEST_V = {"lfp": 3.65, "nmc": 4.20, "flooded": 2.70, "agm": 2.45, "gel": 2.40}
"""Per cell: the most that charging of each chemistry reaches as a rule; flooded ones while equalising."""


def battery_over_voltage(plant: Plant) -> Watch:
    """Battery voltage above what charging may reach, compensated for temperature where it is lead-acid."""
    level, cells = highest_charge_v(plant.site.battery)
    return Watch(
        "battery_over_voltage",
        Treatment((Stage(10.0),), 30.0, plant.hold_s, deadband_share=0.01),
        partial(_voltage, level, cells if plant.lead_acid else 0),
        partial(_tell_voltage, plant),
        applies=lambda rows: level > 0 and "battery_voltage" in rows.block.channels,
    )


def highest_charge_v(battery: Battery) -> tuple[float, int]:
    """The voltage at 25 °C that charging must stay below, V, and cells in series (0 where not known).

    2 % above the absorption voltage of the sheet; without one, 1 % above the most that the chemistry may see.
    NaN where neither is known.
    """
    lithium = battery.chemistry in ("lfp", "nmc")
    cells = lithium_cells(battery) if lithium else lead_acid_cells(battery)
    if battery.absorb_v is not None:
        return _MARGIN * battery.absorb_v, cells
    if battery.chemistry is None or not cells:
        return np.nan, cells
    return _MARGIN_OF_MAXIMUM * _HIGHEST_V[battery.chemistry] * cells, cells


def compensation_v(celsius: Floats, cells: int) -> Floats:
    """What charging voltage may be added at a temperature, V (less than nothing above 25 °C).

    An unknown temperature is taken as 10 °C.
    """
    off = np.where(np.isnan(celsius), _ASSUMED_C, celsius) - _REFERENCE_C
    added: Floats = cells * np.where(off < 0, _COLD_V, _WARM_V) * off
    return added


def _voltage(level: float, cells: int, rows: Rows) -> Reading | None:
    read = rows.block.channel("battery_voltage")
    warmth = rows.block.channel("battery_temperature")
    threshold = level + compensation_v(warmth, cells) if cells else level
    return Reading(read, threshold, {"celsius": warmth, "current": rows.block.channel("battery_current")})


def _tell_voltage(plant: Plant, event: Event) -> Told:
    equalising = plant.site.battery.chemistry == "flooded"
    cause = Phrase("It may be an equalising charge, if one was meant.") if equalising else Phrase("")
    gas = Phrase("")
    if plant.lead_acid:
        gas = Phrase(" Gassing batteries give off hydrogen: air the room, no flames.")
    return Told(
        channel="battery_voltage",
        peak=event.peak,
        threshold=event.threshold,
        unit="V",
        title=Phrase("Battery voltage too high"),
        text=Phrase(
            "Battery voltage reached {peak:V} on a limit of {limit:V}{during}.",
            peak=event.peak,
            limit=event.threshold,
            during=during(event),
        ),
        cause=cause,
        advice=Phrase(
            "Stop charging and compare the charge voltages of all chargers with the battery maker's.{gas} Have the "
            "battery checked by a qualified person if it happens again.",
            gas=gas,
        ),
    )


def charging_while_cold(plant: Plant) -> Watch:
    """Charging below the lowest temperature at which the battery may be charged."""
    return Watch(
        "charging_while_cold",
        Treatment((Stage(60.0),), 60.0, plant.slow_hold_s, deadband=1.0, below=True),
        _warmth,
        _tell_cold,
        applies=lambda rows: "battery_temperature" in rows.block.channels,
    )


def _warmth(rows: Rows) -> Reading | None:
    power = rows.power("battery")
    value = rows.block.channel("battery_temperature")
    charging = known(power > rows.plant.trickle_w, power)
    return Reading(applied(value, charging, below=True), rows.plant.coldest_charge_c, {"power": power})


def _tell_cold(event: Event) -> Told:
    return Told(
        channel="battery_temperature",
        peak=event.peak,
        threshold=event.threshold,
        unit="°C",
        title=Phrase("Charging a cold battery"),
        text=Phrase(
            "The battery, which must not be charged below {limit:°C}, took {power:W} at {peak:°C}{during}.",
            power=event.at_peak["power"],
            peak=event.peak,
            limit=event.threshold,
            during=during(event),
        ),
        advice=Phrase(
            "Stop charging until the cells are warmer. Lithium charged below freezing is damaged for good and may "
            "become dangerous; the maker's instructions decide."
        ),
    )


def battery_low(plant: Plant) -> Watch:
    """State of charge below the reserve."""
    return Watch(
        "battery_low",
        Treatment((Stage(60.0),), 60.0, plant.slow_hold_s, deadband=2.0, below=True),
        _charge,
        partial(_tell_low, plant),
        applies=lambda rows: "battery_soc" in rows.block.channels,
    )


def _charge(rows: Rows) -> Reading | None:
    return Reading(
        rows.block.channel("battery_soc"),
        rows.plant.site.battery.reserve_soc,
        {"power": rows.power("battery"), "generator": rows.generator},
    )


def _tell_low(plant: Plant, event: Event) -> Told:
    drain = -event.at_start["power"]
    cause = Phrase("The battery gave {drain:W} then.", drain=drain) if drain > plant.trickle_w else Phrase("")
    return Told(
        channel="battery_soc",
        peak=event.peak,
        threshold=event.threshold,
        unit="%",
        title=Phrase("Battery low"),
        text=_below(event),
        cause=cause,
        advice=Phrase(
            "Turn off what can wait, and charge before the reserve is reached. Run a generator outdoors only, well "
            "away from openings."
        ),
    )


def _below(event: Event) -> Phrase:
    if event.end is None:
        return Phrase(
            "State of charge is below the reserve of {reserve:%}, {peak:%} at the lowest.",
            reserve=event.threshold,
            peak=event.peak,
        )
    return Phrase(
        "State of charge was below the reserve of {reserve:%} for {time:time}, {peak:%} at the lowest.",
        reserve=event.threshold,
        time=lasted_s(event),
        peak=event.peak,
    )
