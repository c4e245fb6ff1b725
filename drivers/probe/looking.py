"""One look at one address, as a dialog takes it: it never raises what a person caused, and can be stopped."""

from __future__ import annotations

import threading
from pathlib import Path

from drivers.modbus.errors import StoppedError
from drivers.opening import serial_address
from drivers.probe.found import Found, found_device
from drivers.probe.probing import Progress, probe_modbus
from drivers.probe.report import ProbedDevice, ProbeReport
from recordings.errors import HeadraceError

_REGISTER_MAP, _LINE_MAP = "a register map", "a map of its lines"


def look_at(
    address: str,
    progress: Progress | None = None,
    stop: threading.Event | None = None,
    *,
    folder: Path | None = None,
) -> Found:
    """What answers at one address; nothing else is touched, and nothing but reads is sent.

    address   such as "modbus-tcp://10.0.0.5"; without `unit=` the usual unit ids are tried
    progress  is told what is being tried, a clause, from the thread that looks
    stop      ends the look within a second when it is set, from any thread
    folder    from which the path of a map counts; None for the working directory
    """
    stop = stop or threading.Event()
    address = address.strip()
    serial = address.startswith("serial:")
    try:
        report = _probed(address, serial, progress, stop, folder)
    except StoppedError:
        return Found(address, stopped=True)
    except HeadraceError as error:
        return Found(address, stopped=True) if stop.is_set() else Found(address, problem=str(error))
    devices = tuple(
        found_device(each, _map_of(each, folder), _LINE_MAP if serial else _REGISTER_MAP)
        for each in report.devices
    )
    return Found(address, devices, notes=tuple(report.notes), stopped=stop.is_set())


def _probed(
    address: str, serial: bool, progress: Progress | None, stop: threading.Event, folder: Path | None
) -> ProbeReport:
    if not serial:
        return probe_modbus(address, folder=folder, progress=progress, stopped=stop)
    # What listens to serial ports is not needed for Modbus.
    from drivers.probe.lines import probe_line

    if progress is not None:
        progress(f"listening to {serial_address(address)[0]}")
    return probe_line(address, folder=folder, stopped=stop)


def _map_of(device: ProbedDevice, folder: Path | None) -> str:
    """The whole path of the map that a device was read by; "" where it was read without."""
    return str(((folder or Path()) / device.map).resolve()) if device.map else ""
