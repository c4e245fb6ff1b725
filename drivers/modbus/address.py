"""Addresses of Modbus devices as a person writes them.

    modbus-tcp://HOST:PORT?unit=1          Modbus TCP
    modbus-rtu:///dev/ttyUSB0?baud=9600    Modbus RTU on a serial port (modbus-rtu://COM3 on Windows)
    modbus-rtu://HOST:PORT?unit=1          RTU frames through a TCP connection, as serial servers pass them

Options: unit, role, sign and map (one for all units, or one for each, with commas between), interval and
timeout in seconds; baud, parity (N, E, O) and stopbits on a serial port.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal, TypeVar
from urllib.parse import unquote, urlsplit

from drivers.roles import ROLES, Role
from recordings.errors import SourceError
from recordings.sheets import nearest

OPTIONS = ("unit", "role", "sign", "map", "interval", "timeout", "baud", "parity", "stopbits")
SERIAL_OPTIONS = ("baud", "parity", "stopbits")
_WINDOWS_PORT = re.compile(r"com\d+", re.IGNORECASE)

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class ModbusAddress:
    """Where a device is and how to talk to it.

    line   the address without options: what tells one connection from another
    units  the unit ids, () where none is given; roles, signs and maps have one entry for each of them
    """

    line: str
    framing: Literal["tcp", "rtu"]
    host: str = ""
    port: int = 502
    device: str = ""
    baud: int = 9600
    parity: str = "N"
    stopbits: int = 1
    units: tuple[int, ...] = ()
    roles: tuple[Role | None, ...] = (None,)
    signs: tuple[Literal[1, -1] | None, ...] = (None,)
    maps: tuple[str, ...] = ("",)
    interval_s: float | None = None
    timeout_s: float | None = None


def parse_address(text: str) -> ModbusAddress:
    """An address from its text. SourceError says which part can't be used and what would be right."""
    reading = _Parts(text)
    units = reading.each("unit", _unit)
    count = max(1, len(units))
    return replace(
        _serial(reading) if reading.is_serial else _network(reading),
        units=units,
        roles=_spread(reading, "role", reading.each("role", _role), count, None),
        signs=_spread(reading, "sign", reading.each("sign", _sign), count, None),
        maps=_spread(reading, "map", reading.each("map", _map), count, ""),
        interval_s=reading.number("interval", None),
        timeout_s=reading.number("timeout", None),
    )


class _Parts:
    """An address taken apart, with its options by name."""

    def __init__(self, text: str) -> None:
        self.text = text
        try:
            split = urlsplit(text)
        except ValueError as error:
            raise SourceError(f"can't be read as an address: {error}", where=text) from error
        if split.scheme not in ("modbus-tcp", "modbus-rtu"):
            raise self.wrong("kind of address", "modbus-tcp:// or modbus-rtu://", split.scheme)
        self.split = split
        self.line = text.split("?", 1)[0]
        self.is_serial = split.scheme == "modbus-rtu" and (
            not split.netloc or bool(_WINDOWS_PORT.fullmatch(split.netloc))
        )
        self.options = self._read_options(split.query)

    def _read_options(self, query: str) -> dict[str, str]:
        options: dict[str, str] = {}
        for part in filter(None, query.split("&")):
            name, _, value = part.partition("=")
            if name not in OPTIONS:
                raise SourceError(
                    f"unknown option {name}", where=self.text, mend=nearest(name, OPTIONS) or "leave it out"
                )
            if name in options:
                raise SourceError(f"{name} is given twice", where=self.text, mend="give it once")
            if name in SERIAL_OPTIONS and not self.is_serial:
                raise SourceError(
                    f"{name} is for serial ports only", where=self.text, mend=f"leave {name} out"
                )
            options[name] = unquote(value)
        return options

    def wrong(self, what: str, expected: str, found: object) -> SourceError:
        return SourceError(f"{what} can't be used", where=self.text, expected=expected, found=found)

    def each(self, name: str, read: Callable[[_Parts, str], T]) -> tuple[T, ...]:
        if name not in self.options:
            return ()
        return tuple(read(self, part.strip()) for part in self.options[name].split(","))

    def number(self, name: str, missing: float | None) -> float | None:
        if name not in self.options:
            return missing
        try:
            value = float(self.options[name])
        except ValueError:
            value = 0.0
        if not 0 < value < 1e7:
            raise self.wrong(name, "a number above 0", self.options[name])
        return value


def _serial(parts: _Parts) -> ModbusAddress:
    device = unquote(parts.split.path) if not parts.split.netloc else parts.split.netloc
    if not device.strip("/"):
        raise parts.wrong("the serial port", "modbus-rtu:///dev/ttyUSB0", device)
    parity = parts.options.get("parity", "N").upper()
    if parity not in ("N", "E", "O"):
        raise parts.wrong("parity", "N, E or O", parity)
    stopbits = parts.options.get("stopbits", "1")
    if stopbits not in ("1", "2"):
        raise parts.wrong("stopbits", "1 or 2", stopbits)
    return ModbusAddress(
        line=parts.line,
        framing="rtu",
        device=device,
        baud=int(parts.number("baud", 9600.0) or 9600),
        parity=parity,
        stopbits=int(stopbits),
    )


def _network(parts: _Parts) -> ModbusAddress:
    try:
        host, port = parts.split.hostname, parts.split.port
    except ValueError:
        host, port = None, None
    if not host or parts.split.path.strip("/") or "@" in parts.split.netloc:
        raise parts.wrong("the address", f"{parts.split.scheme}://HOST:PORT", parts.line)
    return ModbusAddress(
        line=parts.line,
        framing="tcp" if parts.split.scheme == "modbus-tcp" else "rtu",
        host=host,
        port=502 if port is None else port,
    )


def _unit(parts: _Parts, text: str) -> int:
    if not re.fullmatch(r"\d{1,3}", text) or int(text) > 255:
        raise parts.wrong("unit", "0 to 255, several with commas between", text)
    return int(text)


def _role(parts: _Parts, text: str) -> Role | None:
    for role in ROLES:
        if text == role:
            return role
    if not text:
        return None
    raise SourceError(f"unknown role {text}", where=parts.text, mend=nearest(text, ROLES))


def _sign(parts: _Parts, text: str) -> Literal[1, -1] | None:
    signs: dict[str, Literal[1, -1] | None] = {"": None, "1": 1, "+1": 1, "-1": -1}
    if text not in signs:
        raise parts.wrong("sign", "1 or -1", text)
    return signs[text]


def _map(parts: _Parts, text: str) -> str:
    return text


def _spread(parts: _Parts, name: str, given: tuple[T, ...], count: int, missing: T) -> tuple[T, ...]:
    """One value for each unit: none given, one for all, or as many as there are units."""
    values = given or (missing,)
    if len(values) == 1:
        return values * count
    if len(values) != count:
        raise parts.wrong(name, f"one for all, or one for each of {count} units", parts.options[name])
    return values
