"""Asking an address what is there: its units, what they say, and what they may be in the plant."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar
from urllib.parse import quote

from drivers.maps.device import MapDevice
from drivers.maps.sheet import RegisterMap
from drivers.modbus.address import ModbusAddress, parse_address
from drivers.modbus.errors import ReadFaultError
from drivers.modbus.link import Link
from drivers.modbus.reading import UnitReader
from drivers.opening import map_file
from drivers.probe.mapped import checked
from drivers.probe.report import ProbedDevice, ProbeReport
from drivers.probe.scanning import scanned
from drivers.probe.selfdescribing import described
from drivers.probe.suggestion import device_entry
from drivers.roles import Role
from drivers.sunspec.device import Neighbourhood, SunSpecDevice
from drivers.sunspec.discovery import Chain, Identity, discover, identify
from recordings.errors import SourceError

USUAL_UNITS = (1, 2, 3, 4, 5, 10, 100, 126, 200, 240, 247, 255, 0)
"""Unit ids that are tried on a network address (common practice, no source)."""

USUAL_SERIAL_UNITS = (*range(1, 11), 100, 126, 247)
"""Unit ids that are tried on a serial line; 0 is for broadcasts there, and 248 to 255 are reserved."""

_PATIENT_S, _IMPATIENT_S = 2.0, 0.6
T = TypeVar("T")

Progress = Callable[[str], None]


def probe_modbus(
    text: str,
    *,
    role: Role | None = None,
    map_name: str | None = None,
    folder: Path | None = None,
    progress: Progress | None = None,
    stopped: threading.Event | None = None,
) -> ProbeReport:
    """Find out what answers at one Modbus address. Nothing but this address is touched.

    role, map_name  what a site sheet says beside the address
    folder          of that site sheet: its maps are looked for from there; None for the working directory
    progress        is told what is being tried, a clause

    SourceError where nothing answers there.
    """
    address = parse_address(text)
    link = Link(address, stopped)
    probing = _Probing(link, address, role, map_name or "", folder, progress or (lambda _: None))
    probing.load_maps()
    try:
        link.open(address.timeout_s or _PATIENT_S)
        return probing.report()
    finally:
        link.close()


class _Probing:
    """One look at one address."""

    def __init__(
        self,
        link: Link,
        address: ModbusAddress,
        role: Role | None,
        map_name: str,
        folder: Path | None,
        progress: Progress,
    ) -> None:
        self._link, self._address, self._progress = link, address, progress
        self._role, self._map_name, self._folder = role, map_name, folder
        self._maps: dict[str, RegisterMap] = {}
        self._neighbourhood = Neighbourhood()
        self._seen: list[tuple[Chain, Identity, int]] = []
        self._answering: list[int] = []
        self._report = ProbeReport()

    def load_maps(self) -> None:
        """Read the maps that are named: a wrong one is told before anything is reached for."""
        for name in filter(None, {*self._address.maps, self._map_name}):
            self._maps[name] = RegisterMap.load(map_file(name, self._folder))

    def report(self) -> ProbeReport:
        """Try the units that are given, or the usual ones."""
        there: list[tuple[int, UnitReader, SunSpecDevice | None]] = []
        last: ReadFaultError | None = None
        for index, unit in enumerate(self._units()):
            self._progress(f"unit {unit}")
            reader = self._reader(unit)
            try:
                chain = None if self._map_of(index) else self._chain(reader)
                if chain is None:
                    there.append((index, reader, None))
                elif not self._known(reader, chain):
                    there.append((index, reader, self._self_describing(index, chain)))
            except ReadFaultError as error:
                last = error
        for index, reader, device in there:
            self._look(index, reader, device)
        if self._answering:
            units = ", ".join(map(str, self._answering))
            self._report.notes.append(f"these units answer too, and were not looked at: {units}")
        if not self._report.devices:
            raise last or SourceError(
                "nothing answers there",
                where=self._address.line,
                mend="check the address, the unit id, and on a serial line baud and parity",
            )
        return self._report

    def _units(self) -> Sequence[int]:
        if self._address.units:
            return self._address.units
        if self._map_of(0):
            unit = self._load(0).device.unit
            return (1 if unit is None else unit,)
        return USUAL_SERIAL_UNITS if self._address.device else USUAL_UNITS

    def _reader(self, unit: int) -> UnitReader:
        given = bool(self._address.units)
        timeout = self._address.timeout_s or (_PATIENT_S if given else _IMPATIENT_S)
        return UnitReader(self._link, unit, timeout_s=timeout, retries=1 if given else 0)

    def _chain(self, reader: UnitReader) -> Chain | None:
        """The unit's chain; None where it answers without one. ReadFaultError where it isn't there."""
        self._open()
        return discover(reader)

    def _known(self, reader: UnitReader, chain: Chain) -> bool:
        """True where this is a device that has answered to another unit id already."""
        identity = identify(reader, chain)
        if not identity.serial:
            return False
        for known, who, unit in self._seen:
            if (known, who) == (chain, identity):
                self._report.notes.append(f"unit {reader.unit} is the same device as unit {unit}")
                return True
        self._seen.append((chain, identity, reader.unit))
        return False

    def _self_describing(self, index: int, chain: Chain) -> SunSpecDevice:
        role = self._each(self._address.roles, index) or self._role
        device = SunSpecDevice(1.0, role, self._each(self._address.signs, index), self._neighbourhood)
        # Each must know of the others before any of them is guessed at.
        self._neighbourhood.join(device, chain)
        return device

    def _look(self, index: int, reader: UnitReader, device: SunSpecDevice | None) -> None:
        self._progress(f"unit {reader.unit}: reading")
        try:
            self._open()
            if self._map_of(index):
                found: ProbedDevice | None = self._mapped(index, reader)
            elif device is not None:
                found = described(reader, device, self._source(index, reader.unit))
            else:
                found = self._unknown(index, reader)
        except ReadFaultError as error:
            self._report.notes.append(f"unit {reader.unit}: {error.what}")
            return
        if found is not None:
            self._report.devices.append(found)

    def _unknown(self, index: int, reader: UnitReader) -> ProbedDevice | None:
        if any(not device.models for device in self._report.devices) and not self._address.units:
            # A device that is reached directly often answers to every unit id.
            self._report.notes.append(
                f"unit {reader.unit} answers too; &unit={reader.unit} looks at it alone"
            )
            return None
        found = scanned(reader, self._source(index, reader.unit))
        if found is None:
            self._report.notes.append(f"unit {reader.unit} answers, and gives no register that was asked for")
        return found

    def _mapped(self, index: int, reader: UnitReader) -> ProbedDevice:
        role = self._each(self._address.roles, index) or self._role
        sign = self._each(self._address.signs, index) or 1
        device = MapDevice(self._load(index), 1.0, role, sign)
        source = self._source(index, reader.unit, self._map_of(index))
        found = checked(reader, device, source)
        found.map = self._map_of(index)
        found.suggestion = device_entry(source, role)
        return found

    def _map_of(self, index: int) -> str:
        return self._each(self._address.maps, index) or self._map_name

    def _load(self, index: int) -> RegisterMap:
        return self._maps[self._map_of(index)]

    def _open(self) -> None:
        """Some devices hang up on a unit id that they don't know."""
        if not self._link.is_open:
            self._link.open(self._address.timeout_s or _PATIENT_S)

    def _source(self, index: int, unit: int, map_name: str = "") -> str:
        options = [f"unit={unit}"]
        sign = self._each(self._address.signs, index)
        if sign is not None:
            options.append(f"sign={sign}")
        address = self._address
        if address.device:
            options += [f"baud={address.baud}"]
            options += [f"parity={address.parity}"] * (address.parity != "N")
            options += [f"stopbits={address.stopbits}"] * (address.stopbits != 1)
        if map_name:
            options.append(f"map={quote(map_name, safe='/:.')}")
        return f"{address.line}?{'&'.join(options)}"

    def _each(self, values: Sequence[T], index: int) -> T:
        """The value for a unit; the usual units that are tried all share the first."""
        return values[index] if index < len(values) else values[0]
