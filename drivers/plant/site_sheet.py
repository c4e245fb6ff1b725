"""The site sheet that fits a scenario's plant, as TOML text."""

from __future__ import annotations

from typing import Any

import tomlkit

from drivers.plant.bank import charge_settings
from drivers.plant.meters import class_of
from drivers.plant.scenario import Scenario
from recordings.channels import POWERS


def site_sheet(scenario: Scenario) -> str:
    """The sheet's text. Its first line is a comment that says what to look for in the recording."""
    sheet = tomlkit.document()
    if scenario.look_for:
        sheet.add(tomlkit.comment(" ".join(scenario.look_for.split())))
    for name, table in _sections(scenario).items():
        _add(sheet, name, table)
    meters = _meters(scenario)
    if meters:
        listed = tomlkit.table(is_super_table=True)
        for channel, table in meters.items():
            _add(listed, channel, table)
        sheet.add("meters", listed)
    return tomlkit.dumps(sheet)


def _add(parent: Any, name: str, table: dict[str, Any]) -> None:
    filled = tomlkit.table()
    for key, value in table.items():
        if value is not None:
            filled.add(key, _plain(value))
    parent.add(name, filled)


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        rounded = round(value, 3)
        return int(rounded) if rounded == int(rounded) else rounded
    return value


def _sections(scenario: Scenario) -> dict[str, dict[str, Any]]:
    place, battery, settings = scenario.place, scenario.battery, charge_settings(scenario.battery)
    sections: dict[str, dict[str, Any]] = {"site": {"name": place.name, "timezone": place.timezone}}
    if scenario.generator is not None:
        generator = scenario.generator
        kept = ("rated_w", "volts", "hz", "fuel", "fuel_half_load", "fuel_full_load", "tank")
        sections["generator"] = {name: getattr(generator, name) for name in kept} | {"legs": scenario.legs}
    sections["input"] = {"limit_a": scenario.input.limit_a}
    sections["charger"] = {"limit_a": scenario.charger.limit_a, "rated_w": scenario.charger.rated_w}
    sections["inverter"] = {"rated_w": scenario.inverter.rated_w}
    sections["battery"] = {
        "chemistry": battery.chemistry,
        "capacity_kwh": battery.capacity_kwh,
        "nominal_v": battery.nominal_v,
        "max_charge_a": settings.max_a,
        "absorb_v": settings.absorb_v,
        "float_v": settings.float_v,
        "reserve_soc": battery.reserve_soc,
        "target_soc": battery.target_soc,
    }
    if scenario.solar is not None:
        sections["solar"] = {"rated_w": scenario.solar.rated_w, "coupling": scenario.solar.coupling}
    return sections


def _meters(scenario: Scenario) -> dict[str, dict[str, Any]]:
    kept = scenario.log.channels or POWERS
    powers = [name for name in POWERS if name in kept and _metered(scenario, name)]
    classes = {name: class_of(name, scenario.meters.get(name)) for name in powers}
    return {name: {"percent": kind.percent, "floor_w": kind.floor} for name, kind in classes.items()}


def _metered(scenario: Scenario, channel: str) -> bool:
    if any(fault.kind == "absent" and fault.channel == channel for fault in scenario.fault):
        return False
    present = {
        "generator_power": scenario.generator is not None,
        "grid_power": scenario.grid is not None,
        "solar_power": scenario.solar is not None and scenario.solar.coupling == "dc",
        "solar_ac_power": scenario.solar is not None and scenario.solar.coupling == "ac",
        "dc_load_power": scenario.dc_loads is not None,
    }
    return present.get(channel, True)
