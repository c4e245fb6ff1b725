"""From what is filled in to an address, and from what was chosen to a site sheet. Qt-free."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal
from urllib.parse import quote

from recordings.errors import UsageError
from recordings.files import write_whole

if TYPE_CHECKING:
    from drivers.probe.found import Found, FoundDevice
    from drivers.roles import Role

Kind = Literal["network", "serial", "lines", "text"]
"""Modbus over the network; Modbus on a serial port; printed lines on one; an address as text."""

USUAL_BAUD: dict[Kind, str] = {"serial": "9600", "lines": "115200"}


@dataclass(frozen=True, slots=True)
class Target:
    """What is filled in about where to look.

    place  a host, with its port where that isn't the usual one; a serial port; or a whole address
    units  unit ids with commas between, "" for the usual ones
    map    the file of a register map or a map of lines, "" for none
    """

    kind: Kind
    place: str
    units: str = ""
    baud: str = ""
    map: str = ""

    @property
    def address(self) -> str:
        """The address, "" while nothing is filled in."""
        place = self.place.strip()
        if not place or "://" in place or self.kind == "text":
            return place
        scheme = {"network": "modbus-tcp", "serial": "modbus-rtu", "lines": "serial"}[self.kind]
        options = []
        units = "".join(self.units.split())
        if units and self.kind != "lines":
            options.append(f"unit={units}")
        if self.baud.strip() and self.kind != "network":
            options.append(f"baud={self.baud.strip()}")
        if self.map.strip():
            options.append(f"map={quote(str(Path(self.map.strip()).absolute()), safe='/:.')}")
        return f"{scheme}://{place}" + ("?" + "&".join(options) if options else "")


def needs_role(device: FoundDevice) -> bool:
    """Whether a device can't be used before it is said what it is: maps say it channel by channel."""
    return bool(device.models)


def source_in_role(device: FoundDevice, role: Role | None) -> str:
    """The device's own address, in a role."""
    if role is None or not device.source.startswith("modbus"):
        return device.source
    return f"{device.source}{'&' if '?' in device.source else '?'}role={role}"


def save(found: Found, roles: Mapping[str, Role | None], path: Path) -> None:
    """Write the chosen devices into a site sheet, a new one or one that is there.

    HeadraceError where that can't be.
    """
    from desktop.site import Site
    from drivers.probe.devices_sheet import devices_sheet

    if not path.name:
        raise UsageError("no site sheet named", mend="name the file to write the devices into")
    if path.is_file():
        # What can't be read as a sheet is refused before anything is written.
        Site.load(path)
    try:
        text = path.read_text(encoding="utf-8") if path.is_file() else ""
    except (OSError, UnicodeDecodeError) as error:
        raise UsageError(f"can't be read: {error}", where=str(path)) from error
    sheet = devices_sheet(found, roles, text, path.absolute().parent)
    write_whole(path, (sheet if text else sheet.lstrip()).encode())
