"""Real Modbus servers for the tests, on free ports of the loopback interface, each in a thread of its own."""

from __future__ import annotations

import asyncio
import contextlib
import threading
from collections.abc import Callable, Iterator, Mapping

from pymodbus.constants import ExcCodes
from pymodbus.framer import FramerType
from pymodbus.server import ModbusSerialServer, ModbusTcpServer
from pymodbus.simulator import DataType, SimData, SimDevice

Blocks = Mapping[int, list[int]]
"""address → registers from there on."""


class Plant:
    """Devices whose registers a test may change while they are served.

    refuse   may answer a request with an exception code: (unit, function, address, count) → code or None
    asked    every request that came: (unit, function, address, count)
    """

    def __init__(self, units: Mapping[int, Blocks], inputs: Mapping[int, Blocks] | None = None) -> None:
        self.registers = {unit: dict(_flat(blocks)) for unit, blocks in units.items()}
        self.inputs = {unit: dict(_flat(blocks)) for unit, blocks in (inputs or {}).items()}
        self.refuse: Callable[[int, int, int, int], int | None] = lambda *_: None
        self.asked: list[tuple[int, int, int, int]] = []
        self.port = 0

    def set(self, unit: int, address: int, *words: int) -> None:
        for at, word in enumerate(words, address):
            self.registers[unit][at] = word & 0xFFFF

    def devices(self) -> list[SimDevice]:
        return [self._device(unit) for unit in self.registers]

    def _device(self, unit: int) -> SimDevice:
        async def action(function, start, address, count, current, values):
            self.asked.append((unit, function, address, count))
            code = self.refuse(unit, function, address, count)
            if code is not None:
                return ExcCodes(code)
            words = self.registers[unit] if function != 4 or unit not in self.inputs else self.inputs[unit]
            for offset in range(count):
                if address + offset not in words:
                    return ExcCodes.ILLEGAL_ADDRESS
                current[address - start + offset] = words[address + offset]
            return None

        everything = SimData(address=0, count=65535, values=0, datatype=DataType.REGISTERS)
        return SimDevice(id=unit, simdata=[everything], action=action)


def _flat(blocks: Blocks) -> Iterator[tuple[int, int]]:
    for address, words in blocks.items():
        yield from ((at, word & 0xFFFF) for at, word in enumerate(words, address))


@contextlib.contextmanager
def served(plant: Plant, framer: FramerType = FramerType.SOCKET, port: int = 0) -> Iterator[Plant]:
    """Serve by TCP; the plant's `port` says where."""

    async def make():
        return ModbusTcpServer(
            plant.devices(), framer=framer, address=("127.0.0.1", port), ignore_missing_devices=True
        )

    with _running(make) as server:
        plant.port = server.transport.sockets[0].getsockname()[1]
        yield plant


@contextlib.contextmanager
def served_on_port(plant: Plant, device: str, baud: int = 115200) -> Iterator[Plant]:
    """Serve RTU on a serial port."""

    async def make():
        return ModbusSerialServer(plant.devices(), port=device, baudrate=baud, ignore_missing_devices=True)

    with _running(make):
        yield plant


@contextlib.contextmanager
def _running(make):
    ready, box = threading.Event(), {}

    async def main():
        box["loop"] = asyncio.get_running_loop()
        box["server"] = await make()
        await box["server"].serve_forever(background=True)
        ready.set()
        await box["server"].serving

    thread = threading.Thread(target=asyncio.run, args=(main(),), daemon=True)
    thread.start()
    assert ready.wait(10)
    try:
        yield box["server"]
    finally:
        asyncio.run_coroutine_threadsafe(box["server"].shutdown(), box["loop"]).result(10)
        thread.join(10)
        assert not thread.is_alive()
