"""Listening to a serial line: what comes, what it may be, and what a map makes of it. Nothing is ever sent."""

from __future__ import annotations

import json
import re
import threading
import time
from collections.abc import Sequence
from pathlib import Path

from drivers.opening import baud_of, map_file, serial_address
from drivers.probe.report import ProbedDevice, ProbedValue, ProbeReport, verdict_of
from drivers.serial_lines.decoding import Decoder
from drivers.serial_lines.framing import LineCutter, checked
from drivers.serial_lines.sheet import LineMap
from recordings.channels import CHANNELS
from recordings.errors import SourceError

_PAIR = re.compile(r"[A-Za-z_][\w .-]*\s*[=:]\s*[-+\d.]")
_MOST_LINES = 20
_SLICE_S = 0.1


def probe_line(
    text: str,
    *,
    map_name: str | None = None,
    folder: Path | None = None,
    listen_s: float = 5.0,
    stopped: threading.Event | None = None,
) -> ProbeReport:
    """Listen to `serial://` for a while. SourceError where the port can't be opened, or nothing comes."""
    port, options = serial_address(text)
    name = options.get("map") or map_name or ""
    line_map = LineMap.load(map_file(name, folder)) if name else None
    lines = _heard(port, baud_of(text, options), listen_s, stopped or threading.Event())
    if not lines:
        raise SourceError(
            f"no line of text within {listen_s:g} s", where=text, mend="check the wiring and the baud rate"
        )
    found = ProbedDevice(text, 0)
    found.values = [
        ProbedValue(f"line {number}", "line", number, (), line.decode("utf-8", "replace"))
        for number, line in enumerate(lines[-_MOST_LINES:], 1)
    ]
    if line_map is None:
        found.suggestion = _map_to_start_from(lines)
    else:
        found.map = name
        _decode(found, line_map, lines)
    return ProbeReport([found])


def _decode(found: ProbedDevice, line_map: LineMap, lines: Sequence[bytes]) -> None:
    decoder = Decoder(line_map)
    for line in lines:
        found.readings.update(decoder.decode(line))
    found.notes.append(
        f"{decoder.good} lines understood, {decoder.bad} not, {decoder.other} with nothing of the map"
    )
    found.values += [
        ProbedValue(
            channel, "line", 0, (), value, CHANNELS[channel].unit, channel, verdict_of(channel, value)
        )
        for channel, value in found.readings.items()
    ]


def _heard(port: str, baud: int, listen_s: float, stopped: threading.Event) -> list[bytes]:
    import serial

    cutter, lines = LineCutter(), list[bytes]()
    until = time.monotonic() + listen_s
    try:
        with serial.Serial(port, baudrate=baud, timeout=_SLICE_S, exclusive=True) as line:
            while time.monotonic() < until and not stopped.is_set() and len(lines) < 10 * _MOST_LINES:
                lines += cutter.cut(bytes(line.read(1)) + bytes(line.read(line.in_waiting)))
    except (OSError, ValueError, serial.SerialException) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise SourceError(
            f"the serial port can't be opened: {reason}",
            where=port,
            mend="check that it is plugged in, and that no other program uses it",
        ) from error
    return lines


def _map_to_start_from(lines: Sequence[bytes]) -> str:
    """A map of the last line's form, with its values as entries whose channels a person must name."""
    line = lines[-1]
    sealed = checked(line)
    text = (sealed if sealed is not None else line).decode("utf-8", "replace").strip()
    kind, names = _form(text)
    parts = ["[line]", f'format = "{kind}"']
    if kind == "delimited":
        parts.append(f"delimiter = {json.dumps(_delimiter(text))}")
    if sealed is not None:
        parts.append('checksum = "xor"')
    for index, name in enumerate(names):
        key = f"index = {index}    # {name}" if kind == "delimited" else f"name = {json.dumps(name)}"
        parts += ["", "# [[field]]", '# channel = ""', f"# {key}"]
    return "\n".join(parts) + "\n"


def _form(text: str) -> tuple[str, list[str]]:
    try:
        told = json.loads(text)
    except (ValueError, RecursionError):
        told = None
    if isinstance(told, dict):
        return "json", list(told)
    if _PAIR.search(text):
        return "pairs", [name.strip() for name in re.findall(r"([A-Za-z_][\w.-]*)\s*[=:]", text)]
    return "delimited", text.split(_delimiter(text))


def _delimiter(text: str) -> str:
    return max((",", ";", "\t", "|", " "), key=text.count)
