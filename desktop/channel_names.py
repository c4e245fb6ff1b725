"""What each channel is called in the middle of a sentence (English templates)."""

from __future__ import annotations

from desktop.words import template

CHANNEL_NAMES: dict[str, str] = {
    "generator_power": template("generator power"),
    "generator_voltage": template("generator voltage"),
    "generator_voltage_l1": template("generator voltage, leg 1"),
    "generator_voltage_l2": template("generator voltage, leg 2"),
    "generator_voltage_l3": template("generator voltage, leg 3"),
    "generator_current": template("generator current"),
    "generator_current_l1": template("generator current, leg 1"),
    "generator_current_l2": template("generator current, leg 2"),
    "generator_current_l3": template("generator current, leg 3"),
    "generator_frequency": template("generator frequency"),
    "grid_power": template("grid power"),
    "load_power": template("load power"),
    "solar_power": template("solar power"),
    "solar_ac_power": template("solar power, AC side"),
    "battery_power": template("battery power"),
    "battery_voltage": template("battery voltage"),
    "battery_current": template("battery current"),
    "battery_soc": template("state of charge"),
    "battery_temperature": template("battery temperature"),
    "converter_ac_power": template("inverter-charger power, AC side"),
    "converter_dc_power": template("inverter-charger power, DC side"),
    "dc_load_power": template("DC load power"),
    "input_limit": template("input limit"),
    "charge_limit": template("charge limit"),
    "charger_enabled": template("charger enabled"),
    "fuel_level": template("fuel level"),
}
"""Channel → its name, of every channel there is."""
