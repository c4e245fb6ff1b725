"""The one vocabulary of what can be measured. Drivers and CSV readers turn whatever they meet into these."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Channel:
    """One measured quantity.

    unit      the unit inside the program (SI, percent 0..100, or "" for a switch)
    positive  what a positive value means
    lowest, highest   what a small off-grid plant can physically show; beyond it a reading is a fault
    """

    name: str
    unit: str
    positive: str
    lowest: float
    highest: float


_POWER = 1e6
_ANY_CURRENT = 2e4

_BASE = (
    Channel("generator_power", "W", "generator gives to the AC bus", -_POWER, _POWER),
    Channel("generator_voltage", "V", "generator terminals, leg to neutral", 0.0, 1000.0),
    Channel("generator_current", "A", "generator gives", -_ANY_CURRENT, _ANY_CURRENT),
    Channel("generator_frequency", "Hz", "generator terminals", 0.0, 1000.0),
    Channel("grid_power", "W", "import from the grid", -_POWER, _POWER),
    Channel("load_power", "W", "house takes from the AC bus", -_POWER, _POWER),
    Channel("solar_power", "W", "DC-coupled solar gives to the DC bus", -_POWER, _POWER),
    Channel("solar_ac_power", "W", "AC-coupled solar gives to the AC bus", -_POWER, _POWER),
    Channel("battery_power", "W", "into the battery", -_POWER, _POWER),
    Channel("battery_voltage", "V", "battery terminals", 0.0, 1500.0),
    Channel("battery_current", "A", "into the battery", -_ANY_CURRENT, _ANY_CURRENT),
    Channel("battery_soc", "%", "state of charge", 0.0, 100.0),
    Channel("battery_temperature", "°C", "battery", -60.0, 120.0),
    Channel("converter_ac_power", "W", "AC bus gives to the inverter-charger", -_POWER, _POWER),
    Channel("converter_dc_power", "W", "inverter-charger gives to the DC bus", -_POWER, _POWER),
    Channel("dc_load_power", "W", "DC loads take from the DC bus", -_POWER, _POWER),
    Channel("input_limit", "A", "AC input limit as the device reports it", 0.0, _ANY_CURRENT),
    Channel("charge_limit", "A", "charger's DC limit as the device reports it", 0.0, _ANY_CURRENT),
    Channel("charger_enabled", "", "1 when the charger may run", 0.0, 1.0),
    Channel("fuel_level", "%", "tank", 0.0, 100.0),
)

LEGS = ("l1", "l2", "l3")

LEGGED = ("generator_voltage", "generator_current")
"""Channels that also exist per leg, as NAME_l1, NAME_l2 and NAME_l3."""


def _with_legs() -> dict[str, Channel]:
    table: dict[str, Channel] = {}
    for channel in _BASE:
        table[channel.name] = channel
        if channel.name in LEGGED:
            for leg in LEGS:
                name = f"{channel.name}_{leg}"
                table[name] = Channel(
                    name, channel.unit, f"{channel.positive}, leg {leg[1]}", channel.lowest, channel.highest
                )
    return table


CHANNELS: dict[str, Channel] = _with_legs()
"""Every channel by name, in the order in which they are listed and written."""

POWERS: tuple[str, ...] = tuple(name for name, channel in CHANNELS.items() if channel.unit == "W")
"""The channels that are powers."""
