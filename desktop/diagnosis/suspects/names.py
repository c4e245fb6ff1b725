"""What each meter is called at the beginning of a sentence."""

from __future__ import annotations

from desktop.words import template

METER_NAMES: dict[str, str] = {
    "generator_power": template("The generator meter"),
    "grid_power": template("The grid meter"),
    "load_power": template("The load meter"),
    "solar_power": template("The solar meter"),
    "solar_ac_power": template("The meter of AC solar"),
    "battery_power": template("The battery meter"),
    "converter_ac_power": template("The converter's AC meter"),
    "converter_dc_power": template("The converter's DC meter"),
    "dc_load_power": template("The DC load meter"),
    "battery_current": template("The battery's current meter"),
    "generator_current": template("The generator's current meter"),
    "generator_current_l1": template("The generator's current meter of leg 1"),
    "generator_current_l2": template("The generator's current meter of leg 2"),
    "generator_current_l3": template("The generator's current meter of leg 3"),
}
"""By the channel that it reads."""
