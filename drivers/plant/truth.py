"""What is really so at one moment, under the names of the channels and a few more."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drivers.plant.flows import Demand, Flows
from recordings.channels import CHANNELS, LEGS

if TYPE_CHECKING:
    from drivers.plant.plant import Plant

Truth = dict[str, float]
"""True values by channel; besides them loss_power, and load_power and generator_power per leg."""


def truth_of(plant: Plant, flows: Flows, demand: Demand) -> Truth:
    """Every true value of a plant's moment. The keys are the same in every moment."""
    battery = plant.battery
    source = sum(flows.source)
    truth: Truth = {
        "load_power": flows.load,
        "solar_power": flows.solar,
        "solar_ac_power": flows.solar_ac,
        "battery_power": flows.battery,
        "battery_voltage": battery.v,
        "battery_current": battery.i,
        "battery_soc": battery.soc,
        "battery_temperature": battery.temperature,
        "converter_ac_power": flows.converter_ac,
        "converter_dc_power": flows.converter_dc,
        "dc_load_power": demand.dc_load,
        "loss_power": flows.converter_ac - flows.converter_dc,
        "input_limit": plant.input_limit_a,
        "charge_limit": plant.charge_limit_a,
        "charger_enabled": 1.0 if plant.charger_enabled else 0.0,
        "grid_power": source if plant.on_grid else 0.0,
        "generator_power": source if plant.on_generator else 0.0,
    }
    if plant.generator is not None:
        _generator(plant, flows, truth)
    if len(demand.legs) > 1:
        for leg, watts in zip(LEGS, demand.legs, strict=False):
            truth[f"load_power_{leg}"] = watts if flows.load else 0.0
    return truth


def _generator(plant: Plant, flows: Flows, truth: Truth) -> None:
    generator = plant.generator
    if generator is None:
        return
    truth["generator_frequency"] = generator.frequency
    truth["fuel_level"] = generator.tank.percent
    volts, floor = generator.voltage, 0.2 * generator.numbers.volts
    powers = flows.source if plant.on_generator else (0.0,) * len(flows.source)
    if len(powers) == 1:
        truth["generator_voltage"] = volts
        truth["generator_current"] = powers[0] / max(volts, floor)
        return
    mean = sum(powers) / len(powers)
    drop = generator.numbers.voltage_drop / generator.numbers.rated_w * len(powers)
    for leg, watts in zip(LEGS, powers, strict=False):
        across = volts * (1.0 - drop * (watts - mean))
        truth[f"generator_voltage_{leg}"] = across
        truth[f"generator_current_{leg}"] = watts / max(across, floor)
        truth[f"generator_power_{leg}"] = watts


def channels_of(plant: Plant) -> list[str]:
    """The channels that a plant of this kind has, in the vocabulary's order."""
    scenario = plant.scenario
    lacking = {
        "grid_power": scenario.grid is None,
        "generator_power": scenario.generator is None,
        "solar_power": scenario.solar is None or scenario.solar.coupling == "ac",
        "solar_ac_power": scenario.solar is None or scenario.solar.coupling == "dc",
        "dc_load_power": scenario.dc_loads is None,
    }
    present = plant.truth()
    return [name for name in CHANNELS if name in present and not lacking.get(name, False)]
