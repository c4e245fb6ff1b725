"""Shown text: a template and its values, kept apart until it is shown, so that language and digits can follow.

Every sentence that a person reads is a `Phrase`. Its template is English and is also the key under which a
translation is looked up; its values are numbers in SI, formatted by the quantity named in the template:

    Phrase("Input current {peak:A} on a {limit:A} limit for {duration:time}.", peak=27.1, limit=25, duration=14)
"""

from __future__ import annotations

import math
import re
import string
from collections.abc import Callable
from datetime import UTC, datetime, tzinfo
from typing import Any

_CONTEXT = "\x04"
"""As gettext joins a context and its text."""

_AFTER_NUMBER = re.compile(r"(?<=\d) (?=[^\W\d]|[%°±])")


class _Speech:
    """The language that is spoken now: how templates are translated, and its decimal sign."""

    translate: Callable[[str], str] = str
    decimal_sign: str = "."


def speak(translate: Callable[[str], str], decimal_sign: str = ".") -> None:
    """Use this translation of templates and words from now on (`str` for English)."""
    _Speech.translate = staticmethod(translate)
    _Speech.decimal_sign = decimal_sign


def tr(template: str) -> str:
    """A template or word in the language that is spoken now."""
    return _Speech.translate(template).rpartition(_CONTEXT)[2]


def template(text: str) -> str:
    """The template itself: marks one that stands in a table and is shown by `tr` or `Phrase` later."""
    return text


def word_in(context: str, word: str) -> str:
    """A template that other languages need another word for in this context than elsewhere."""
    return f"{context}{_CONTEXT}{word}"


NOT_KNOWN = template("not known")
DATE_FORM = word_in("form of a date, as strftime takes it", "%Y-%m-%d")


class Phrase:
    """A template with its values. `str()` gives the text in the language spoken at that moment."""

    __slots__ = ("template", "values", "zone")

    def __init__(self, template: str, zone: tzinfo = UTC, **values: Any) -> None:
        self.template = template
        self.values = values
        self.zone = zone

    def __str__(self) -> str:
        return _Quantities(self.zone).format(tr(self.template), **self.values)

    def __repr__(self) -> str:
        return f"Phrase({self.template!r}, {self.values!r})"

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Phrase) and self.template == other.template and self.values == other.values

    def __hash__(self) -> int:
        return hash(self.template)

    def __bool__(self) -> bool:
        return bool(self.template)


class _Quantities(string.Formatter):
    def __init__(self, zone: tzinfo) -> None:
        self._zone = zone

    def format_field(self, value: Any, format_spec: str) -> str:
        if isinstance(value, str):
            return tr(value)
        if isinstance(value, Phrase):
            return str(value)
        if format_spec in _OF_TIME:
            return _OF_TIME[format_spec](value, self._zone)
        if format_spec in _SPREADS:
            return _SPREADS[format_spec](*value)
        if format_spec in _FORMATS:
            return _FORMATS[format_spec](value)
        text = str(super().format_field(value, format_spec))
        return text.replace(".", _Speech.decimal_sign) if isinstance(value, float) else text


def kept_together(text: str) -> str:
    """The text with no-break spaces between numbers and what follows them, for lines that are broken."""
    return _AFTER_NUMBER.sub("\u00a0", text)


def power(watts: float) -> str:
    """`6.23 kW`, `0.81 kW`, `35 W`: kilowatts from 100 W on, whole watts (in tens) below."""
    if _missing(watts):
        return tr(NOT_KNOWN)
    if abs(watts) < 99.5:
        return f"{decimal(round(watts), 0)} W"
    return f"{decimal(watts / 1000, 2)} kW"


def power_spread(watts: float, sd: float) -> str:
    """`0.05 ± 0.36 kW`, `12 ± 30 W`: both in the unit of the larger; the power alone where its sd isn't known."""
    if _missing(watts) or _missing(sd):
        return power(watts)
    if max(abs(watts), sd) < 99.5:
        return f"{decimal(round(watts), 0)} ± {decimal(round(sd), 0)} W"
    return f"{decimal(watts / 1000, 2)} ± {decimal(sd / 1000, 2)} kW"


def energy(watt_hours: float) -> str:
    """`3.91 kWh`."""
    return tr(NOT_KNOWN) if _missing(watt_hours) else f"{decimal(watt_hours / 1000, 2)} kWh"


def energy_spread(watt_hours: float, sd: float) -> str:
    """`3.91 ± 0.04 kWh`; the energy alone where its sd isn't known, or is nothing."""
    if _missing(watt_hours) or _missing(sd) or not sd > 0:
        return energy(watt_hours)
    return f"{decimal(watt_hours / 1000, 2)} ± {decimal(sd / 1000, 2)} kWh"


def current(amperes: float) -> str:
    """`27.1 A`, `102 A`."""
    return tr(NOT_KNOWN) if _missing(amperes) else f"{decimal(amperes, 1 if abs(amperes) < 100 else 0)} A"


def voltage(volts: float) -> str:
    """`53.1 V`, `226 V`."""
    return tr(NOT_KNOWN) if _missing(volts) else f"{decimal(volts, 1 if abs(volts) < 100 else 0)} V"


def frequency(hertz: float) -> str:
    """`49.2 Hz`."""
    return tr(NOT_KNOWN) if _missing(hertz) else f"{decimal(hertz, 1)} Hz"


def percent(value: float) -> str:
    """`63 %`."""
    return tr(NOT_KNOWN) if _missing(value) else f"{decimal(value, 0)} %"


def temperature(celsius: float) -> str:
    """`-4 °C`."""
    return tr(NOT_KNOWN) if _missing(celsius) else f"{decimal(celsius, 0)} °C"


def duration(seconds: float) -> str:
    """`0.2 s`, `14 s`, `6 min`, `9 h 10 min`, `2 d 4 h`."""
    if _missing(seconds):
        return tr(NOT_KNOWN)
    if 0.05 <= seconds < 0.95:
        return f"{decimal(seconds, 1)} s"
    if round(seconds) < 100:
        return f"{round(seconds)} s"
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 48 * 60:
        return f"{minutes // 60} h {minutes % 60:02d} min"
    hours = round(seconds / 3600)
    return f"{hours // 24} d {hours % 24} h"


def clock(nanoseconds: int, zone: tzinfo = UTC) -> str:
    """`14:03:20` in the given zone."""
    return local(nanoseconds, zone).strftime("%H:%M:%S")


def day(nanoseconds: int, zone: tzinfo = UTC) -> str:
    """`2026-03-02` in the given zone, in the language's own form of a date."""
    return local(nanoseconds, zone).strftime(tr(DATE_FORM))


def local(nanoseconds: int, zone: tzinfo = UTC) -> datetime:
    """A UTC nanosecond stamp as an aware datetime in the given zone."""
    return datetime.fromtimestamp(nanoseconds / 1e9, UTC).astimezone(zone)


def decimal(value: float, digits: int) -> str:
    """A number with so many decimals, the decimal sign of the language and a true minus sign."""
    text = f"{value:.{digits}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", "−").replace(".", _Speech.decimal_sign)


def _missing(value: float | None) -> bool:
    return value is None or math.isnan(value)


_OF_TIME: dict[str, Callable[[int, tzinfo], str]] = {"clock": clock, "day": day}
_SPREADS: dict[str, Callable[[float, float], str]] = {"W±": power_spread, "Wh±": energy_spread}
_FORMATS: dict[str, Callable[[float], str]] = {
    "W": power,
    "Wh": energy,
    "A": current,
    "V": voltage,
    "Hz": frequency,
    "%": percent,
    "°C": temperature,
    "time": duration,
}
