"""Small scenarios for the tests of the simulated plant."""

from __future__ import annotations

import copy
from typing import Any

from drivers.plant.scenario import Scenario

SMALL: dict[str, Any] = {
    "place": {"name": "Test hut", "timezone": "Europe/Berlin", "start": "2025-03-05T09:00:00", "hours": 0.5},
    "generator": {"rated_w": 6000.0, "fuel_half_load": 1.4, "fuel_full_load": 2.3},
    "battery": {"capacity_kwh": 10.0, "soc": 40.0},
    "order": [{"at": "09:01:00", "do": "start"}],
}


def small(**sections: Any) -> Scenario:
    """A generator, a battery and a house, with these sections put in or changed key by key."""
    table = copy.deepcopy(SMALL)
    for name, value in sections.items():
        if isinstance(value, dict) and isinstance(table.get(name), dict):
            table[name] = table[name] | value
        else:
            table[name] = value
    return Scenario.of(table)
