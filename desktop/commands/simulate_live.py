"""`headrace simulate --modbus` and `--serial`: an invented plant whose devices answer until told to stop."""

from __future__ import annotations

import argparse
import re
import sys
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING

from desktop.interrupts import asked_to_stop
from recordings.errors import UsageError
from recordings.files import write_whole

if TYPE_CHECKING:
    from collections.abc import Callable

    from drivers.wire.faults import Faults
    from drivers.wire.live import LivePlant, Reading
    from drivers.wire.serving import Served

_SHORTEST_S = 0.2
_USUAL_S = 1.0
_FASTEST = 10_000.0


def run_live(options: argparse.Namespace) -> int:
    """Put the plant on the wire, say where it is, and let it run."""
    import drivers.plant.export as export
    from drivers.wire.faults import Faults, parse_order
    from drivers.wire.live import LivePlant

    speed = _speed(options.speed)
    faults = Faults([parse_order(text) for text in options.fault or ()], time.monotonic, options.seed or 0)
    scenario = export.scenario(options.scenario)
    # Meters are read each second, and no oftener than five times a second of ours.
    interval_s = max(min(scenario.log.interval_s, _USUAL_S), _SHORTEST_S * speed)
    plant = LivePlant(scenario, options.seed, interval_s)
    # From the first line on, which says where it answers, it may be asked to stop.
    with asked_to_stop() as asked:
        if options.modbus:
            _serve(options, plant, faults, speed, asked)
        else:
            _print_lines(options, plant, faults, speed, asked)
    return 0


def _serve(
    options: argparse.Namespace, plant: LivePlant, faults: Faults, speed: float, asked: threading.Event
) -> None:
    from drivers.wire.plain import UNIT
    from drivers.wire.server import WireServer
    from drivers.wire.serving import Served

    _refuse(options, "lines", "--serial pty")
    host, port = _address(options.modbus)
    served = Served(plant, faults, speed=speed)
    with WireServer(host, port, served.units, faults) as server:
        where = "modbus-tcp://{}:{}".format(*_bracketed(*server.address))
        _write_modbus_papers(options, plant, served, where)
        _say(f"{plant.scenario.place.name} answers at {where}")
        for device in served.devices:
            models = ", ".join(str(model.number) for model in device.models)
            _say(f"  unit {device.unit:<4} {device.role:<10} SunSpec models {models}")
        _say(f"  unit {UNIT:<4} {'all':<10} plain registers; their map: --map FILE")
        _run(plant, served.publish, speed, asked)


def _write_modbus_papers(options: argparse.Namespace, plant: LivePlant, served: Served, where: str) -> None:
    from drivers.wire.plain import UNIT
    from drivers.wire.sheet import device_entries, site_with_devices
    from drivers.wire.sunspec import left_over

    if options.map:
        _write(options.map, served.plain.map_text())
    if not options.sheet:
        return
    sheet, left_out = Path(options.sheet), ""
    entries = device_entries(where, [(device.unit, device.role, "") for device in served.devices])
    rest = left_over(plant)
    if rest:
        if options.sheet == "-":
            # A sheet that is only shown has no place beside it for a map.
            left_out = f"\n# Left out, for it needs a map beside the sheet (--sheet FILE): {', '.join(rest)}"
        else:
            rest_map = sheet.with_name(f"{sheet.stem}-map.toml")
            write_whole(rest_map, served.plain.map_text(rest).encode())
            entries += device_entries(where, [(UNIT, None, rest_map.name)])
    _write(options.sheet, site_with_devices(plant.scenario, entries) + left_out)


def _print_lines(
    options: argparse.Namespace, plant: LivePlant, faults: Faults, speed: float, asked: threading.Event
) -> None:
    from drivers.wire.port import open_port
    from drivers.wire.printing import LinePrinter, Publisher

    _refuse(options, "sheet", "--modbus HOST:PORT")
    printer = LinePrinter(plant, options.lines or "delimited")
    if options.map:
        _write(options.map, printer.map_text(speed))
    port = open_port(options.serial)
    try:
        _say(f"{plant.scenario.place.name} prints at serial://{port.name}")
        _run(plant, Publisher(printer, port.send, faults).publish, speed, asked)
    finally:
        port.close()


def _run(plant: LivePlant, publish: Callable[[Reading], None], speed: float, asked: threading.Event) -> None:
    from drivers.wire.pace import run

    _say("Ctrl-C ends it.")
    run(plant, publish, asked, speed=speed)


def _say(line: str) -> None:
    # Who starts this in the background waits for these lines: they must not linger in a buffer.
    print(line, file=sys.stdout, flush=True)


def _write(path: str, text: str) -> None:
    if path == "-":
        _say(text)
    else:
        write_whole(path, text.encode())


def _refuse(options: argparse.Namespace, name: str, goes_with: str) -> None:
    if getattr(options, name):
        raise UsageError(f"--{name} goes with {goes_with}")


def _speed(given: str | None) -> float:
    try:
        speed = float(given or 1.0)
    except ValueError:
        speed = 0.0
    if not 0.0 < speed <= _FASTEST:
        raise UsageError("--speed can't be used", expected=f"a number up to {_FASTEST:g}", found=given)
    return speed


def _address(text: str) -> tuple[str, int]:
    match = re.fullmatch(r"(?:\[([0-9a-fA-F:.]+)\]|([^:\[\]/]+)):(\d{1,5})", text.strip())
    if match is None or int(match[3]) > 65535:
        raise UsageError("--modbus can't be used", expected="HOST:PORT, such as 127.0.0.1:5020", found=text)
    return match[1] or match[2], int(match[3])


def _bracketed(host: str, port: int) -> tuple[str, int]:
    return (f"[{host}]" if ":" in host else host), port
