"""The whole plant as one device that doesn't describe itself: all readings in a row of registers, and their map."""

from __future__ import annotations

import math
import struct
from collections.abc import Sequence

import tomlkit

from drivers.wire.live import LivePlant, Reading

UNIT = 100
"""The unit id under which the plain registers are."""

COUNT_AT, CLOCK_AT, VALUES_AT = 0, 2, 10
_NOTHING = 0x80000000
_NS = 1_000_000_000


class PlainRegisters:
    """From 0 on: the reading's number (u32) and the plant's clock (u32, s); from 10 on all readings (i32)."""

    def __init__(self, plant: LivePlant) -> None:
        self._steps = {name: plant.quantum(name) for name in plant.channels}

    def image(self, reading: Reading) -> bytes:
        """The registers. The clock is laid over by who serves them: it runs on between readings."""
        head = struct.pack(">II", reading.number & 0xFFFFFFFF, reading.time // _NS).ljust(
            2 * VALUES_AT, b"\0"
        )
        return head + b"".join(self._raw(name, reading.values[name]) for name in self._steps)

    def _raw(self, name: str, value: float) -> bytes:
        if math.isnan(value):
            return struct.pack(">I", _NOTHING)
        return struct.pack(">i", round(value / self._steps[name]))

    def map_text(self, channels: Sequence[str] | None = None) -> str:
        """The register map, as TOML; of all channels, or of these."""
        sheet = tomlkit.document()
        sheet.add(tomlkit.comment("The registers of a simulated plant."))
        device = tomlkit.table()
        device.update({"unit": UNIT, "word_order": "big"})
        sheet.add("device", device)
        clock = tomlkit.table()
        clock.update({"address": CLOCK_AT, "type": "u32"})
        sheet.add("clock", clock)
        reads = tomlkit.aot()
        for place, (name, step) in enumerate(self._steps.items()):
            if channels is None or name in channels:
                entry = tomlkit.table()
                address = VALUES_AT + 2 * place
                entry.update({"channel": name, "address": address, "table": "holding", "type": "i32"})
                entry.update({"scale": int(step) if step == int(step) else step, "missing": _NOTHING})
                reads.append(entry)
        sheet.add("read", reads)
        return tomlkit.dumps(sheet)
