"""From what a person writes to a source: an address, a recording's file, or the devices of a site."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Protocol
from urllib.parse import unquote, urlsplit

from drivers.roles import Role
from drivers.source import Source
from drivers.timing import Timing
from recordings.errors import SheetError, SourceError
from recordings.sheets import nearest

if TYPE_CHECKING:
    from drivers.maps.sheet import RegisterMap
    from drivers.modbus.address import ModbusAddress
    from drivers.modbus.source import Device, ModbusSource

SCHEMES = ("modbus-tcp", "modbus-rtu", "serial")

DEFAULT_INTERVAL_S = 1.0

_SERIAL_OPTIONS = ("baud", "map", "interval")


class DeviceEntry(Protocol):
    """A device as a site sheet names it. A map's file is looked for beside the sheet."""

    @property
    def source(self) -> str: ...
    @property
    def role(self) -> Role | None: ...
    @property
    def map(self) -> str | None: ...


@dataclass(frozen=True, slots=True)
class _Entry:
    source: str
    role: Role | None = None
    map: str | None = None


def open_source(
    what: str | Path | Sequence[DeviceEntry],
    *,
    folder: Path | None = None,
    interval_s: float | None = None,
    speed: float = 1.0,
    timing: Timing | None = None,
) -> Source:
    """A source for an address, a recording's path, or all devices of a site together. Nothing is reached yet.

    folder      of the site sheet that names the devices: maps are looked for from there; None for the working
                directory
    interval_s  how often devices are read; else what their addresses or maps say, else 1 s
    speed       at which a recording is played

    HeadraceError where an address, a map or a recording can't be used.
    """
    timing = timing or Timing()
    entries: Sequence[DeviceEntry]
    if isinstance(what, (str, Path)):
        if "://" not in str(what):
            from drivers.played import PlayedSource
            from recordings.tables import read_table

            return PlayedSource(read_table(what), speed=speed, timing=timing)
        entries = [_Entry(str(what))]
    else:
        entries = what
    if not entries:
        raise SourceError("no devices given", mend="add a [[device]] with its source to the site sheet")
    opening = _Opening(folder, interval_s, timing)
    sources = opening.sources(entries)
    if len(sources) == 1:
        return sources[0][0]
    from drivers.merged import MergedSource

    return MergedSource(sources, interval_s=opening.slowest_s, timing=timing)


class _Opening:
    """Makes sources of entries: devices on one line share one connection."""

    def __init__(self, folder: Path | None, interval_s: float | None, timing: Timing) -> None:
        from drivers.sunspec.device import Neighbourhood

        self._folder, self._given_s, self._timing = folder, interval_s, timing
        self._neighbourhood = Neighbourhood()
        self.slowest_s = interval_s or DEFAULT_INTERVAL_S

    def sources(self, entries: Iterable[DeviceEntry]) -> list[tuple[Source, Callable[[], Role | None]]]:
        """Each source, and how to ask what it is in the plant."""
        from drivers.modbus.address import parse_address

        found: list[tuple[Source, Callable[[], Role | None]]] = []
        lines: dict[str, list[tuple[ModbusAddress, DeviceEntry]]] = {}
        for entry in entries:
            scheme = entry.source.partition(":")[0]
            if scheme == "serial":
                found.append((self._serial(entry), _always(entry.role)))
            elif scheme in SCHEMES:
                address = parse_address(entry.source)
                lines.setdefault(address.line, []).append((address, entry))
            else:
                raise SourceError(
                    "unknown kind of source",
                    where=entry.source,
                    expected="modbus-tcp://HOST:PORT, modbus-rtu:///dev/… or serial:///dev/…",
                )
        for members in lines.values():
            source = self._modbus(members)
            found.append((source, _role_of(source)))
        return found

    def _modbus(self, members: Sequence[tuple[ModbusAddress, DeviceEntry]]) -> ModbusSource:
        from drivers.modbus.link import Link
        from drivers.modbus.source import ModbusSource

        first = members[0][0]
        for address, entry in members[1:]:
            if (address.baud, address.parity, address.stopbits) != (first.baud, first.parity, first.stopbits):
                raise SourceError(
                    "devices on one line have different line settings",
                    where=entry.source,
                    mend="give all of them the same baud, parity and stopbits",
                )
        slots = [slot for address, entry in members for slot in self._slots(address, entry)]
        told = [slot.interval_s for slot in slots if slot.interval_s is not None]
        interval_s = self._given_s or max(told, default=DEFAULT_INTERVAL_S)
        self.slowest_s = max(self.slowest_s, interval_s)
        timeouts = [address.timeout_s for address, _ in members if address.timeout_s is not None]
        return ModbusSource(
            Link(first),
            [(slot.unit, self._device(slot, interval_s)) for slot in slots],
            interval_s=interval_s,
            timeout_s=max(timeouts, default=None),
            timing=self._timing,
        )

    def _slots(self, address: ModbusAddress, entry: DeviceEntry) -> Iterator[_Slot]:
        for index, (role, sign, name) in enumerate(
            zip(address.roles, address.signs, address.maps, strict=True)
        ):
            if role and entry.role and role != entry.role:
                raise SourceError(
                    "the role in the address and the one beside it differ",
                    where=entry.source,
                    expected=entry.role,
                    found=role,
                )
            register_map = self._register_map(name or entry.map or "")
            device = None if register_map is None else register_map.device
            unit = address.units[index] if address.units else (device.unit if device else None)
            interval_s = address.interval_s or (device.interval_s if device else None)
            yield _Slot(1 if unit is None else unit, role or entry.role, sign, register_map, interval_s)

    def _device(self, slot: _Slot, interval_s: float) -> Device:
        if slot.map is not None:
            from drivers.maps.device import MapDevice

            return MapDevice(slot.map, interval_s, slot.role, slot.sign or 1)
        from drivers.sunspec.device import SunSpecDevice

        return SunSpecDevice(interval_s, slot.role, slot.sign, self._neighbourhood)

    def _register_map(self, name: str) -> RegisterMap | None:
        if not name:
            return None
        from drivers.maps.sheet import RegisterMap

        return RegisterMap.load(map_file(name, self._folder))

    def _serial(self, entry: DeviceEntry) -> Source:
        from drivers.serial_lines.sheet import LineMap
        from drivers.serial_lines.source import SerialSource

        port, options = serial_address(entry.source)
        name = options.get("map") or entry.map or ""
        if not name:
            raise SourceError(
                "a serial line doesn't describe itself",
                where=entry.source,
                mend="give a map of its lines with &map=FILE.toml",
            )
        interval_s = self._given_s or _number(entry.source, options, "interval", 0.0) or None
        return SerialSource(
            port,
            LineMap.load(map_file(name, self._folder)),
            baud=baud_of(entry.source, options),
            interval_s=interval_s,
            name=entry.source.split("?", 1)[0],
            timing=self._timing,
        )


@dataclass(frozen=True, slots=True)
class _Slot:
    """One unit of a line, as the address and the sheet name it."""

    unit: int
    role: Role | None
    sign: int | None
    map: RegisterMap | None
    interval_s: float | None


def serial_address(text: str) -> tuple[str, dict[str, str]]:
    """(port, options) of `serial:///dev/ttyUSB0?baud=115200&map=F.toml` or `serial://COM3`."""
    try:
        split = urlsplit(text)
    except ValueError as error:
        raise SourceError(f"can't be read as an address: {error}", where=text) from error
    port = split.netloc or unquote(split.path)
    if not port.strip("/"):
        raise SourceError("names no serial port", where=text, expected="serial:///dev/ttyUSB0?baud=115200")
    options: dict[str, str] = {}
    for part in filter(None, split.query.split("&")):
        name, _, value = part.partition("=")
        if name not in _SERIAL_OPTIONS:
            raise SourceError(f"unknown option {name}", where=text, mend=nearest(name, _SERIAL_OPTIONS))
        options[name] = unquote(value)
    return port, options


def baud_of(text: str, options: dict[str, str]) -> int:
    """The speed that a serial line's options give. SourceError where it is none; `text` is the whole address."""
    return round(_number(text, options, "baud", 115200.0))


def map_file(name: str, folder: Path | None) -> Path:
    """Where a map's file is. SheetError where there is none.

    folder  of the site sheet that names it; None for an address on its own: then it is the working directory
    """
    path = (folder or Path()) / name
    if path.is_file() or Path(name).is_absolute():
        return path
    base, start = (
        ("the site sheet's folder", folder) if folder is not None else ("the working directory", Path())
    )
    raise SheetError(
        "there is no such map",
        where=name,
        mend=f"its path counts from {base}, {start.resolve()}; mend it, or give the whole path",
    )


def _number(text: str, options: dict[str, str], name: str, missing: float) -> float:
    try:
        value = float(options.get(name, missing))
    except ValueError:
        value = -1.0
    if name in options and not 0 < value < 1e7:
        raise SourceError(
            f"{name} can't be used", where=text, expected="a number above 0", found=options[name]
        )
    return value


def _always(role: Role | None) -> Callable[[], Role | None]:
    return lambda: role


def _role_of(source: ModbusSource) -> Callable[[], Role | None]:
    return lambda: source.role
