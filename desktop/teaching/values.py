"""The values that a note may quote: {name} in its text is replaced by what the review says of its moment.

    {generator}           at the moment
    {generator_then}      at the end of the span
    {generator_highest}   the highest, or {…_lowest}, within the span
    {generator_metered}   as its meter reads, before the powers were reconciled

What is no such name stays as it is written.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

from desktop.flow.streams import CHANNEL_OF, SINKS, SOURCES, STREAMS
from desktop.review.moment import Moment
from desktop.teaching.lesson import Note
from desktop.words import Phrase, template, tr

if TYPE_CHECKING:
    from desktop.site import Site
    from recordings.recording import Recording

_FIELD = re.compile(r"\{([a-z][a-z_]{0,40})\}")
_SECOND = 1e9


class Told(Protocol):
    """What a review tells that matters here."""

    @property
    def recording(self) -> Recording:
        """What was measured."""

    @property
    def site(self) -> Site:
        """Whose clock is shown."""

    def stream(self, name: str) -> NDArray[np.float32]:
        """(n,) reconciled power of a stream, W."""

    def moment(self, instant: int) -> Moment:
        """Everything of an instant."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """What a value is.

    label  English template
    unit   as in `desktop.words`
    of     the value at a moment, NaN where not known
    """

    label: str
    unit: str
    of: Callable[[Moment], float]


def _stream(name: str) -> Callable[[Moment], float]:
    return lambda moment: moment.streams[name].value


def _metered(name: str) -> Callable[[Moment], float]:
    return lambda moment: moment.streams[name].measured


def _missing(place: str) -> Callable[[Moment], float]:
    return lambda moment: next((gap.value for gap in moment.gaps if gap.place == place), math.nan)


def _fed(sources: tuple[str, ...], sink: str) -> Callable[[Moment], float]:
    rows, column = [SOURCES.index(name) for name in sources], SINKS.index(sink)
    return lambda moment: float(moment.table[rows, column].sum())


def _or_nan(value: float | None) -> float:
    return math.nan if value is None else value


_STREAM_LABELS = {
    "generator": template("What the generator gives"),
    "grid": template("What comes from the grid"),
    "solar_ac": template("What solar gives on the AC side"),
    "load": template("What the house takes"),
    "converter_ac": template("What the inverter-charger takes from the AC side"),
    "converter_dc": template("What the inverter-charger gives to the DC side"),
    "solar": template("What solar gives on the DC side"),
    "battery": template("What goes into the battery"),
    "dc_load": template("What DC loads take"),
    "loss": template("What the inverter-charger loses"),
}
_METER_LABELS = {name: template("As its own meter reads") for name in CHANNEL_OF}
_SUN = ("solar_ac", "solar")

QUANTITIES: Mapping[str, Quantity] = {
    **{name: Quantity(_STREAM_LABELS[name], "W", _stream(name)) for name in STREAMS},
    **{f"{name}_metered": Quantity(_METER_LABELS[name], "W", _metered(name)) for name in CHANNEL_OF},
    "generator_to_load": Quantity(
        template("From the generator to the house"), "W", _fed(("generator",), "load")
    ),
    "generator_to_battery": Quantity(
        template("From the generator into the battery"), "W", _fed(("generator",), "battery")
    ),
    "solar_to_load": Quantity(template("From the sun to the house"), "W", _fed(_SUN, "load")),
    "solar_to_battery": Quantity(template("From the sun into the battery"), "W", _fed(_SUN, "battery")),
    "battery_to_load": Quantity(template("From the battery to the house"), "W", _fed(("battery",), "load")),
    "missing_ac": Quantity(template("Unaccounted for on the AC side"), "W", _missing("ac")),
    "missing_dc": Quantity(template("Unaccounted for on the DC side"), "W", _missing("dc")),
    "missing": Quantity(template("Unaccounted for in all"), "W", _missing("both")),
    "generator_rating": Quantity(
        template("What the generator can carry"), "W", lambda one: _or_nan(one.streams["generator"].rated)
    ),
    "generator_voltage": Quantity(template("Generator voltage"), "V", lambda one: one.generator.voltage),
    "generator_frequency": Quantity(
        template("Generator frequency"), "Hz", lambda one: one.generator.frequency
    ),
    "input_current": Quantity(template("Input current"), "A", lambda one: one.generator.current),
    "input_limit": Quantity(template("AC input limit"), "A", lambda one: _or_nan(one.generator.limit_a)),
    "input_limit_power": Quantity(
        template("What the AC input limit lets through"), "W", lambda one: _or_nan(one.generator.limit_w)
    ),
    "battery_voltage": Quantity(template("Battery voltage"), "V", lambda one: one.battery.voltage),
    "battery_current": Quantity(template("Battery current"), "A", lambda one: one.battery.current),
    "battery_soc": Quantity(template("Battery state of charge"), "%", lambda one: one.battery.soc),
    "battery_target": Quantity(template("Target"), "%", lambda one: one.battery.target_soc),
    "battery_reserve": Quantity(template("Reserve"), "%", lambda one: one.battery.reserve_soc),
}
"""Name → what it is."""

_CHANNELS = {
    "generator_voltage": "generator_voltage",
    "generator_frequency": "generator_frequency",
    "input_current": "generator_current",
    "battery_voltage": "battery_voltage",
    "battery_current": "battery_current",
    "battery_soc": "battery_soc",
}
"""Quantities of which every row of a channel tells."""

_EXTREMES: Mapping[str, Callable[[NDArray[np.float32]], float]] = {
    "_highest": lambda values: float(values.max()),
    "_lowest": lambda values: float(values.min()),
}


_OF_NOTE = ("at", "until", "span")
_ENDINGS = ("then", "highest", "lowest")


class Values:
    """What the review says of a note's moment and span, as text."""

    def __init__(self, review: Told, note: Note) -> None:
        self._review, self._note = review, note
        # A note quotes several values of the same two moments.
        self._moment = lru_cache(maxsize=2)(review.moment)

    def text(self, name: str) -> str | None:
        """A value as it is shown; None where there is none of that name."""
        note, zone = self._note, self._review.site.zone
        if name in ("at", "until"):
            return str(Phrase("{time:clock}", zone, time=note.at if name == "at" else note.end))
        if name == "span":
            return str(Phrase("{span:time}", span=(note.end - note.at) / _SECOND))
        found = self._found(name)
        if found is None:
            return None
        quantity, value = found
        return str(Phrase(f"{{value:{quantity.unit}}}", value=value))

    def number(self, name: str) -> float | None:
        """A value in SI, NaN where it isn't known; None where there is no quantity of that name."""
        found = self._found(name)
        return None if found is None else found[1]

    def filled(self, text: str, *, ours: bool = False) -> str:
        """A text with its values; `ours`: in the language that is spoken."""
        return _FIELD.sub(lambda found: self.text(found[1]) or found[0], tr(text) if ours else text)

    def _found(self, name: str) -> tuple[Quantity, float] | None:
        if name in QUANTITIES:
            return QUANTITIES[name], QUANTITIES[name].of(self._moment(self._note.at))
        base, _, ending = name.rpartition("_")
        if base not in QUANTITIES:
            return None
        if ending == "then":
            return QUANTITIES[base], QUANTITIES[base].of(self._moment(self._note.end))
        extreme = _EXTREMES.get(f"_{ending}")
        return None if extreme is None else (QUANTITIES[base], self._extreme(base, extreme))

    def _extreme(self, name: str, extreme: Callable[[NDArray[np.float32]], float]) -> float:
        recording = self._review.recording
        if name in STREAMS:
            values = self._review.stream(name)
        elif name in _CHANNELS and _CHANNELS[name] in recording.channels:
            values = recording.column(_CHANNELS[name])
        else:
            return math.nan
        first = int(np.searchsorted(recording.time, self._note.at))
        stop = int(np.searchsorted(recording.time, self._note.end, side="right"))
        known = values[first:stop]
        known = known[np.isfinite(known)]
        return extreme(known) if len(known) else math.nan


def fields(text: str) -> list[str]:
    """The names in braces in a text, in their order, whether they are known or not."""
    return _FIELD.findall(text)


def is_value(name: str) -> bool:
    """Whether a note can quote a value of this name."""
    base, _, ending = name.rpartition("_")
    return name in _OF_NOTE or name in QUANTITIES or (base in QUANTITIES and ending in _ENDINGS)
