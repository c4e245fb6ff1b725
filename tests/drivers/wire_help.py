"""Small plants on the wire, for tests."""

from __future__ import annotations

import copy
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from pymodbus.client import ModbusTcpClient

from drivers.plant.scenario import Scenario
from drivers.wire.faults import Faults, parse_order
from drivers.wire.live import LivePlant, Reading
from drivers.wire.server import WireServer
from drivers.wire.serving import Served

HUT: dict[str, Any] = {
    "place": {"name": "Test hut", "timezone": "Europe/Berlin", "start": "2025-03-05T11:00:00", "hours": 0.1},
    "generator": {"rated_w": 6000.0, "fuel_half_load": 1.4, "fuel_full_load": 2.3},
    "solar": {"rated_w": 2000.0},
    "battery": {"capacity_kwh": 10.0, "soc": 40.0},
    "order": [{"at": "11:00:05", "do": "start"}],
}


def hut(**sections: Any) -> Scenario:
    """A generator, sun, a battery and a house, with these sections put in or changed key by key."""
    table = copy.deepcopy(HUT)
    for name, value in sections.items():
        old = table.get(name)
        table[name] = old | value if isinstance(value, dict) and isinstance(old, dict) else value
    return Scenario.of(table)


@dataclass
class Wire:
    """A plant that a test moves on, and where its devices answer."""

    plant: LivePlant
    served: Served
    port: int

    def move(self, seconds: int = 1) -> Reading:
        """Go on for some readings; the last of them is what the devices say now."""
        for _ in range(seconds):
            reading = self.plant.next()
        self.served.publish(reading)
        return reading

    def client(self, timeout: float = 3.0) -> ModbusTcpClient:
        """A client that is connected."""
        client = ModbusTcpClient("127.0.0.1", port=self.port, timeout=timeout, retries=0)
        assert client.connect()
        return client


@contextmanager
def wire(scenario: Scenario, *orders: str, now: Callable[[], float] = time.monotonic) -> Iterator[Wire]:
    """A plant on a free port."""
    faults = Faults([parse_order(order) for order in orders], now)
    plant = LivePlant(scenario)
    served = Served(plant, faults)
    with WireServer("127.0.0.1", 0, served.units, faults) as server:
        yield Wire(plant, served, server.address[1])
