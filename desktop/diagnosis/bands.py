"""The generator's frequency and voltage, once it has warmed up and until it is stopped.

Frequency: ISO 8528-5, class G2, allows 5 % droop and a steady band of 1.5 % (0.75 % either way). A set may be
trimmed to hold its nominal frequency anywhere between half and full load. So it may read 5.75 % above nominal
without load, and 3.25 % below at full load. Voltage: 10 % either way, which ISO 8528-8 allows small sets.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np

from desktop.charging.usual_times import WARM_UP_S
from desktop.diagnosis.alarm import Event, Stage, Treatment
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.rows import Rows, applied
from desktop.diagnosis.watch import Floats, Reading, Told, Watch, during
from desktop.words import Phrase, template
from recordings.channels import LEGS

DROOP = 0.05
STEADY = 0.0075
LOWEST_HZ, HIGHEST_HZ = 1 - DROOP / 2 - STEADY, 1 + DROOP + STEADY
LOWEST_V, HIGHEST_V = 0.90, 1.10
"""Shares of nominal."""

_ON_S, _OFF_S = 10.0, 15.0
_DEADBAND = 0.005


@dataclass(frozen=True, slots=True)
class _Band:
    """One edge of a band."""

    kind: str
    quantity: str
    level: float
    below: bool


def bands(plant: Plant) -> list[Watch]:
    """The four edges."""
    edges = (
        _Band("generator_frequency_low", "Hz", LOWEST_HZ * plant.hz, below=True),
        _Band("generator_frequency_high", "Hz", HIGHEST_HZ * plant.hz, below=False),
        _Band("generator_voltage_low", "V", LOWEST_V * plant.volts, below=True),
        _Band("generator_voltage_high", "V", HIGHEST_V * plant.volts, below=False),
    )
    return [_watch(edge, plant) for edge in edges]


def _watch(band: _Band, plant: Plant) -> Watch:
    nominal = plant.hz if band.quantity == "Hz" else plant.volts
    return Watch(
        band.kind,
        Treatment((Stage(_ON_S),), _OFF_S, plant.hold_s, deadband=_DEADBAND * nominal, below=band.below),
        partial(_measure, band),
        partial(_tell, band, nominal),
        applies=lambda rows: rows.any_running and band.level > 0,
    )


def _measure(band: _Band, rows: Rows) -> Reading | None:
    read = _frequency(rows) if band.quantity == "Hz" else _voltages(rows, below=band.below)
    if read is None:
        return None
    value, leg = read
    context = {"leg": leg, "load": rows.generator}
    return Reading(applied(value, _warm(rows), below=band.below), band.level, context)


def _warm(rows: Rows) -> Floats:
    """A cold set hunts: its frequency and voltage are not judged until it has warmed up."""
    warm = (rows.running_s >= WARM_UP_S).astype(np.float64)
    return np.where(np.isnan(rows.running), np.nan, warm)


def _frequency(rows: Rows) -> tuple[Floats, Floats] | None:
    if "generator_frequency" not in rows.block.channels:
        return None
    read = rows.block.channels["generator_frequency"]
    return read, np.zeros(len(read))


def _voltages(rows: Rows, *, below: bool) -> tuple[Floats, Floats] | None:
    """The worst leg's voltage, and its number (0 for the one that isn't told by leg)."""
    names = ("generator_voltage", *(f"generator_voltage_{leg}" for leg in LEGS))
    read = [
        (number, rows.block.channels[name])
        for number, name in enumerate(names)
        if name in rows.block.channels
    ]
    if not read:
        return None
    if len(read) > 1 and read[0][0] == 0:
        read = read[1:]
    every = np.stack([values for _, values in read])
    worst = np.fmin.reduce(every) if below else np.fmax.reduce(every)
    leg = np.zeros(len(worst))
    for number, values in reversed(read):
        leg[values == worst] = number
    return worst, leg


def _tell(band: _Band, nominal: float, event: Event) -> Told:
    hertz = band.quantity == "Hz"
    leg = int(event.at_peak.get("leg", 0))
    channel = "generator_frequency" if hertz else "generator_voltage"
    if leg:
        channel += f"_l{leg}"
    return Told(
        channel=channel,
        peak=event.peak,
        threshold=event.threshold,
        unit=band.quantity,
        title=_TITLES[band.kind],
        text=_text(band, nominal, event, leg),
        cause=_cause(event),
        advice=_ADVICE[band.kind],
    )


def _text(band: _Band, nominal: float, event: Event, leg: int) -> Phrase:
    told = _LEG_TEXTS if leg else _TEXTS
    return Phrase(
        told[band.kind],
        leg=leg,
        peak=event.peak,
        nominal=nominal,
        level=event.threshold,
        during=during(event),
    )


def _cause(event: Event) -> Phrase:
    load = event.at_peak.get("load", np.nan)
    return Phrase("") if np.isnan(load) else Phrase("The generator carried {load:W} then.", load=load)


_TITLES = {
    "generator_frequency_low": Phrase("Generator frequency low"),
    "generator_frequency_high": Phrase("Generator frequency high"),
    "generator_voltage_low": Phrase("Generator voltage low"),
    "generator_voltage_high": Phrase("Generator voltage high"),
}

_TEXTS = {
    "generator_frequency_low": template(
        "Generator frequency fell to {peak:Hz} (nominal {nominal:Hz}, allowed {level:Hz}){during}."
    ),
    "generator_frequency_high": template(
        "Generator frequency rose to {peak:Hz} (nominal {nominal:Hz}, allowed {level:Hz}){during}."
    ),
    "generator_voltage_low": template(
        "Generator voltage fell to {peak:V} (nominal {nominal:V}, allowed {level:V}){during}."
    ),
    "generator_voltage_high": template(
        "Generator voltage rose to {peak:V} (nominal {nominal:V}, allowed {level:V}){during}."
    ),
}

_LEG_TEXTS = {
    "generator_voltage_low": template(
        "Generator voltage on leg {leg:d} fell to {peak:V} (nominal {nominal:V}, allowed {level:V}){during}."
    ),
    "generator_voltage_high": template(
        "Generator voltage on leg {leg:d} rose to {peak:V} (nominal {nominal:V}, allowed {level:V}){during}."
    ),
}

_ADVICE = {
    "generator_frequency_low": Phrase(
        "Take load off: set the input limit lower. If it stays low with little load, the governor, the air filter "
        "or the fuel supply wants attention, by the maker's instructions."
    ),
    "generator_frequency_high": Phrase(
        "If it stays high under load, have the governor set by the maker's instructions. An inverter refuses a "
        "source whose frequency is outside its window."
    ),
    "generator_voltage_low": Phrase(
        "Take load off, and look for long or thin cables. If it stays low with little load, have the voltage "
        "regulator checked by a qualified person."
    ),
    "generator_voltage_high": Phrase(
        "Too much voltage harms appliances: have the voltage regulator and the neutral connection checked by a "
        "qualified person before connecting it again."
    ),
}
