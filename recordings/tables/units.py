"""Units as headers write them, and how they become the program's own."""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: the quantity it measures, and reading · scale + offset = the value in SI (or %, °C)."""

    name: str
    quantity: str
    scale: float = 1.0
    offset: float = 0.0


QUANTITY_OF = {
    "W": "power",
    "V": "voltage",
    "A": "current",
    "Hz": "frequency",
    "%": "percent",
    "°C": "temperature",
}
"""The quantity of each unit that channels use."""

_UNITS = (
    Unit("W", "power"),
    Unit("kW", "power", 1e3),
    Unit("MW", "power", 1e6),
    Unit("mW", "power", 1e-3),
    Unit("VA", "apparent"),
    Unit("kVA", "apparent", 1e3),
    Unit("V", "voltage"),
    Unit("mV", "voltage", 1e-3),
    Unit("kV", "voltage", 1e3),
    Unit("A", "current"),
    Unit("mA", "current", 1e-3),
    Unit("kA", "current", 1e3),
    Unit("Hz", "frequency"),
    Unit("mHz", "frequency", 1e-3),
    Unit("%", "percent"),
    Unit("°C", "temperature"),
    Unit("°F", "temperature", 1 / 1.8, -32 / 1.8),
    Unit("K", "temperature", 1.0, -273.15),
)

_OTHER = {
    "reactive": "var kvar",
    "energy": "wh kwh mwh gwh ah kah mah j kj mj ws kws vah kvah varh kvarh",
    "time": "s sec secs second seconds ms us µs μs ns min mins minute minutes h hr hrs hour hours d days utc",
    "other": "l l/h gal gal/h m3 m3/h m³ m³/h bar mbar psi kpa pa hpa rpm 1/min min-1 kg g lx lux w/m2 w/m² kw/m2 "
    "wp kwp ohm mohm ω mω m m/s km/h mm ppm eur usd ct ct/kwh - -- 1 0/1 bool count",
}

_SPELLED = {
    "watt": "W",
    "watts": "W",
    "kilowatt": "kW",
    "kilowatts": "kW",
    "megawatt": "MW",
    "volt": "V",
    "volts": "V",
    "millivolt": "mV",
    "millivolts": "mV",
    "amp": "A",
    "amps": "A",
    "ampere": "A",
    "amperes": "A",
    "milliamps": "mA",
    "hertz": "Hz",
    "percent": "%",
    "prozent": "%",
    "pct": "%",
    "degc": "°C",
    "celsius": "°C",
    "c": "°C",
    "degf": "°F",
    "fahrenheit": "°F",
    "f": "°F",
    "kelvin": "K",
}

_BY_NAME = {unit.name: unit for unit in _UNITS}
_AMBIGUOUS_IN_LOWER_CASE = {"mw"}
_BY_FOLDED = {unit.name.lower(): unit for unit in reversed(_UNITS)} | {
    word: _BY_NAME[name] for word, name in _SPELLED.items()
}
_OTHERS = {word: quantity for quantity, words in _OTHER.items() for word in words.split()}


def unit_of(text: str) -> Unit | None:
    """The unit that a text such as `kW`, `[kW]`, `V DC` or `Watts` names; None where it names none.

    Units of no channel (kWh, var, l/h) come back with scale 1 and their own quantity. `mw` in small letters is
    no unit: it may be meant as mW or as MW.
    """
    plain = text.strip().strip("[](){}<>").strip().replace("º", "°").replace("° ", "°")
    if plain in _BY_NAME:
        return _BY_NAME[plain]
    folded = re.sub(r"(?<=[vaw])[\s_]?(?:dc|ac|rms)$", "", plain.lower().replace("deg ", "deg"))
    if folded in _AMBIGUOUS_IN_LOWER_CASE:
        return None
    if folded in _BY_FOLDED:
        return _BY_FOLDED[folded]
    if folded in _OTHERS:
        return Unit(plain, _OTHERS[folded])
    return None


def fitting(channel_unit: str) -> tuple[str, ...]:
    """The names of all units whose readings can become readings in a channel's unit, that unit first."""
    names = [unit.name for unit in _UNITS if channel_unit and fits(unit, channel_unit)]
    return tuple(sorted(names, key=lambda name: name != channel_unit))


def fits(unit: Unit, channel_unit: str) -> bool:
    """True where readings in `unit` can become readings in a channel's unit."""
    if not channel_unit:
        return True
    wanted = QUANTITY_OF[channel_unit]
    return unit.quantity == wanted or (wanted == "power" and unit.quantity == "apparent")
