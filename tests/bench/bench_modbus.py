"""A poll of a SunSpec device of five models over loopback, beside the bare pymodbus reads that it needs.

The device has models 1, 103, 160, 203 and 802. Bare reads are `ModbusTcpClient.read_holding_registers` of the
very blocks that the poll asks for, their words left undecoded. Wall time, the best of several runs, both against
one server in a process of its own.

Run: python tests/bench/bench_modbus.py [POLLS]
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "drivers"))

from modbus_servers import Plant, served
from pymodbus.client import ModbusTcpClient
from side_by_side import seconds, told
from sunspec_images import five_models

from drivers.modbus.address import parse_address
from drivers.modbus.link import Link
from drivers.modbus.reading import UnitReader
from drivers.sunspec.device import SunSpecDevice


def serve() -> None:
    """Serve until standard input closes; the port is printed."""
    with served(Plant({1: {40000: five_models()}})) as plant:
        print(plant.port, flush=True)
        sys.stdin.read()


def main(polls: int) -> None:
    server = subprocess.Popen(
        [sys.executable, __file__, "--serve"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert server.stdout is not None
    port = int(server.stdout.readline())
    link = Link(parse_address(f"modbus-tcp://127.0.0.1:{port}"))
    bare = ModbusTcpClient("127.0.0.1", port=port)
    try:
        link.open()
        bare.connect()
        reader, device = UnitReader(link, 1), SunSpecDevice(role="converter")
        device.prepare(reader)
        blocks = [(block.address, block.words) for block in reader.blocks]

        def bare_reads() -> None:
            for _ in range(polls):
                for address, count in blocks:
                    bare.read_holding_registers(address, count=count, device_id=1)

        def whole_polls() -> None:
            for _ in range(polls):
                device.poll(reader)

        # In turns, so that what else the machine does disturbs both alike.
        rounds = [(seconds(bare_reads, 1), seconds(whole_polls, 1)) for _ in range(15)]
        against, measured = (min(column) for column in zip(*rounds, strict=True))
        print(f"{len(blocks)} reads a poll, bare {polls * len(blocks) / against:.0f} reads/s")
        told(f"{polls} polls of 5 models", measured, "bare pymodbus reads", against)
    finally:
        link.close()
        bare.close()
        server.communicate(timeout=10)


if __name__ == "__main__":
    if "--serve" in sys.argv:
        serve()
    else:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
