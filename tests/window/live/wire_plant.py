"""A simulated plant on a real Modbus server of this computer, which can vanish and come back."""

from __future__ import annotations

import threading
from pathlib import Path

import drivers.plant.export as export
from drivers.wire.faults import Faults
from drivers.wire.live import LivePlant
from drivers.wire.pace import run
from drivers.wire.server import WireServer
from drivers.wire.serving import Served
from drivers.wire.sheet import device_entries, site_with_devices


class WirePlant:
    """Serves a scenario's devices from `start` to `stop`; it keeps its port when it is started again."""

    def __init__(self, scenario: str = "load-step", interval_s: float = 0.2) -> None:
        self.scenario = export.scenario(scenario)
        self.plant = LivePlant(self.scenario, None, interval_s)
        self.faults = Faults([], lambda: 0.0, 0)
        self.served = Served(self.plant, self.faults)
        self.port = 0
        self._over = threading.Event()
        self._server: WireServer | None = None
        self._pace: threading.Thread | None = None

    @property
    def address(self) -> str:
        return f"modbus-tcp://127.0.0.1:{self.port}"

    def sheet(self, folder: Path) -> Path:
        """A site sheet that names its devices."""
        path = folder / "plant.toml"
        entries = device_entries(self.address, [(each.unit, each.role, "") for each in self.served.devices])
        path.write_text(site_with_devices(self.scenario, entries))
        return path

    def start(self) -> WirePlant:
        self._server = WireServer("127.0.0.1", self.port, self.served.units, self.faults)
        self._server.start()
        self.port = self._server.address[1]
        self._over.clear()
        self._pace = threading.Thread(target=run, args=(self.plant, self.served.publish, self._over))
        self._pace.start()
        return self

    def stop(self) -> None:
        self._over.set()
        if self._pace is not None:
            self._pace.join()
        if self._server is not None:
            self._server.stop()

    def __enter__(self) -> WirePlant:
        return self.start()

    def __exit__(self, *_: object) -> None:
        self.stop()
