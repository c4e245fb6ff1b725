"""Readings as lines of text, and the map by which such lines are read."""

from __future__ import annotations

import json
import math
from collections.abc import Callable

import tomlkit

from drivers.serial_lines.framing import xor
from drivers.serial_lines.sheet import Format
from drivers.wire.faults import Faults
from drivers.wire.live import LivePlant, Reading
from recordings.channels import CHANNELS

_TAG = "PLANT"


class LinePrinter:
    """One line per reading: `$PLANT,1250,63.5*4F`, `$load_power=1250 battery_soc=63.5*4F` or a JSON object."""

    def __init__(self, plant: LivePlant, layout: Format) -> None:
        self._channels, self._layout = plant.channels, layout
        self._interval_s = plant.interval_s

    def line(self, reading: Reading) -> bytes:
        """A reading as a line with its end. A missing value is an empty cell, or null."""
        values = [reading.values[name] for name in self._channels]
        if self._layout == "json":
            told = [None if math.isnan(value) else value for value in values]
            return json.dumps(dict(zip(self._channels, told, strict=True))).encode() + b"\r\n"
        texts = ["" if math.isnan(value) else f"{value:.10g}" for value in values]
        if self._layout == "delimited":
            return sealed(",".join([_TAG, *texts]))
        return sealed(" ".join(f"{name}={text}" for name, text in zip(self._channels, texts, strict=True)))

    def map_text(self, speed: float = 1.0) -> str:
        """The map of these lines, as TOML."""
        sheet = tomlkit.document()
        sheet.add(tomlkit.comment("The lines of a simulated plant."))
        line = tomlkit.table()
        line.add("format", self._layout)
        if self._layout != "json":
            line.update({"delimiter": "," if self._layout == "delimited" else " ", "checksum": "xor"})
        line.add("interval_s", round(max(0.01, self._interval_s / speed), 3))
        sheet.add("line", line)
        fields = tomlkit.aot()
        for place, name in enumerate(self._channels, 1):
            entry = tomlkit.table()
            entry.add("channel", name)
            entry.add("name", _TAG if self._layout == "delimited" else name)
            if self._layout == "delimited":
                entry.add("index", place)
            if CHANNELS[name].unit:
                entry.add("unit", CHANNELS[name].unit)
            fields.append(entry)
        sheet.add("field", fields)
        return tomlkit.dumps(sheet)


def sealed(text: str) -> bytes:
    """A line with its checksum and end."""
    body = text.encode()
    return b"$%s*%02X\r\n" % (body, xor(body))


class Publisher:
    """Prints readings on a port, with what was ordered to go wrong on the way."""

    def __init__(self, printer: LinePrinter, send: Callable[[bytes], None], faults: Faults) -> None:
        self._printer, self._send, self._faults = printer, send, faults
        self._frozen: Reading | None = None
        self._late: bytes = b""

    def publish(self, reading: Reading) -> None:
        """Print a reading, or what goes out in its place. A slow line comes with the next one."""
        faults = self._faults
        self._frozen = (self._frozen or reading) if faults.holds("freeze") else None
        line = self._printer.line(self._frozen or reading)
        if faults.holds("drop"):
            return
        if faults.holds("garbage"):
            line = faults.noise()
        elif faults.holds("exception"):
            line = b"ERR 4\r\n"
        if faults.holds("slow"):
            line, self._late = self._late, line
        else:
            line, self._late = self._late + line, b""
        if line:
            self._send(line)
