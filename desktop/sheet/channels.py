"""What the channels are called, and what a positive value of each means (English templates)."""

from __future__ import annotations

from desktop.words import Phrase, template, tr
from recordings.channels import LEGGED, LEGS

LABELS: dict[str, str] = {
    "generator_power": template("Generator power"),
    "generator_voltage": template("Generator voltage"),
    "generator_current": template("Generator current"),
    "generator_frequency": template("Generator frequency"),
    "grid_power": template("Grid power"),
    "load_power": template("House load"),
    "solar_power": template("Solar power (DC side)"),
    "solar_ac_power": template("Solar power (AC side)"),
    "battery_power": template("Battery power"),
    "battery_voltage": template("Battery voltage"),
    "battery_current": template("Battery current"),
    "battery_soc": template("Battery state of charge"),
    "battery_temperature": template("Battery temperature"),
    "converter_ac_power": template("Inverter-charger, AC side"),
    "converter_dc_power": template("Inverter-charger, DC side"),
    "dc_load_power": template("DC load"),
    "input_limit": template("AC input limit"),
    "charge_limit": template("Charger limit"),
    "charger_enabled": template("Charger enabled"),
    "fuel_level": template("Fuel level"),
}

MEANINGS: dict[str, str] = {
    "generator_power": template("Positive: the generator gives to the AC bus."),
    "generator_voltage": template("From leg to neutral."),
    "generator_current": template("Positive: the generator gives."),
    "generator_frequency": template("At the generator's terminals."),
    "grid_power": template("Positive: import from the grid. Negative: export."),
    "load_power": template("Positive: the house takes from the AC bus."),
    "solar_power": template("Positive: solar gives to the battery's side."),
    "solar_ac_power": template("Positive: solar gives to the AC bus."),
    "battery_power": template("Positive: into the battery. Negative: out of it."),
    "battery_voltage": template("At the battery's terminals."),
    "battery_current": template("Positive: into the battery. Negative: out of it."),
    "battery_soc": template("From 0 to 100 %."),
    "battery_temperature": template("Of the battery."),
    "converter_ac_power": template("Positive: from the AC bus into the inverter-charger (charging)."),
    "converter_dc_power": template("Positive: from the inverter-charger to the DC bus (charging)."),
    "dc_load_power": template("Positive: DC loads take from the DC bus."),
    "input_limit": template("The setting that the device reports."),
    "charge_limit": template("The setting that the device reports: direct current."),
    "charger_enabled": template("1 where the charger may run, else 0."),
    "fuel_level": template("Of the tank, from 0 to 100 %."),
}


def label(channel: str) -> str:
    """What a channel is called, in the language that is spoken."""
    base, leg = _parts(channel)
    name = tr(LABELS[base])
    return str(Phrase("{channel}, leg {leg}", channel=name, leg=leg)) if leg else name


def meaning(channel: str) -> str:
    """What a positive value of it means, in the language that is spoken."""
    return tr(MEANINGS[_parts(channel)[0]])


def _parts(channel: str) -> tuple[str, str]:
    base, _, leg = channel.rpartition("_")
    return (base, leg[1:]) if leg in LEGS and base in LEGGED else (channel, "")
