"""The site sheet of a plant on the wire: what it is, and where its devices answer."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import tomlkit

from drivers.plant.scenario import Scenario
from drivers.plant.site_sheet import site_sheet
from drivers.roles import Role


def device_entries(where: str, units: Iterable[tuple[int, Role | None, str]]) -> list[dict[str, str]]:
    """Entries of a sheet for (unit id, role, map file) at one address; None and "" where there is none."""
    entries = []
    for unit, role, map_name in units:
        entry = {"source": f"{where}?unit={unit}"}
        if role is not None:
            entry["role"] = role
        if map_name:
            entry["map"] = map_name
        entries.append(entry)
    return entries


def site_with_devices(scenario: Scenario, entries: Iterable[dict[str, str]]) -> str:
    """The scenario's site sheet with these devices, as TOML."""
    sheet = tomlkit.parse(site_sheet(scenario))
    listed: Any = tomlkit.aot()
    for entry in entries:
        table = tomlkit.table()
        table.update(entry)
        listed.append(table)
    sheet.add("device", listed)
    return tomlkit.dumps(sheet)
