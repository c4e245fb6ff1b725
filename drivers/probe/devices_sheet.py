"""Writing devices that were found into a site sheet, whose other parts stay as they are written."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Mapping, MutableMapping, Sequence
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Array

from drivers.modbus.address import parse_address
from drivers.opening import serial_address
from drivers.probe.found import Found, FoundDevice
from drivers.roles import Role
from recordings.errors import SheetError

_DEVICE = re.compile(r"^[ \t]*\[\[[ \t]*device[ \t]*\]\].*\n?", re.MULTILINE)
_TABLE = re.compile(r"^[ \t]*\[", re.MULTILINE)

_Entry = dict[str, str]
_Place = tuple[str, frozenset[int]]


def device_entries(
    found: Found, roles: Mapping[str, Role | None], folder: Path | None = None
) -> list[dict[str, str]]:
    """The `[[device]]` entries (source, role, map) of those devices that were chosen.

    roles   `FoundDevice.source` → what the device is, None to leave that to its models; devices that aren't in
            it are left out
    folder  of the site sheet: a map in it is named by its path from there, any other by its whole path
    """
    return [
        _entry(device, roles[device.source], folder) for device in found.devices if device.source in roles
    ]


def devices_sheet(
    found: Found, roles: Mapping[str, Role | None], text: str = "", folder: Path | None = None
) -> str:
    """A site sheet's text with the chosen devices in it; `roles` and `folder` as in `device_entries`.

    text  the sheet as it is; an entry of the same device in it is brought up to date, all else stays as written

    SheetError where the sheet is no TOML, or has an entry for several units of which one was chosen.
    """
    plain = text.replace("\r\n", "\n")
    try:
        document = tomlkit.parse(plain)
    except TOMLKitError as error:
        raise SheetError(
            f"is no valid TOML: {error}", where="site sheet", mend="mend the line named"
        ) from error
    listed: Any = document.get("device", [])
    fresh: list[_Entry] = []
    for entry in device_entries(found, roles, folder):
        known = _known(entry["source"], listed)
        if known is None:
            fresh.append(entry)
        elif _updated(known, entry):
            plain = tomlkit.dumps(document)
    if isinstance(listed, Array) and fresh:
        # A person may write the entries as one array of inline tables.
        listed.extend(fresh)
        plain = tomlkit.dumps(document)
    else:
        plain = _followed(plain, fresh)
    return plain.replace("\n", "\r\n") if "\r\n" in text else plain


def _entry(device: FoundDevice, role: Role | None, folder: Path | None) -> _Entry:
    entry = {"source": _without_map(device.source)}
    if role is not None:
        entry["role"] = role
    if device.map:
        path = Path(device.map)
        inside = folder is not None and path.is_relative_to(folder.resolve())
        entry["map"] = path.relative_to(folder.resolve()).as_posix() if folder and inside else os.fspath(path)
    return entry


def _without_map(source: str) -> str:
    """The address without the map's path, which stands in a key of its own."""
    line, _, query = source.partition("?")
    options = [each for each in query.split("&") if each and not each.startswith("map=")]
    return f"{line}?{'&'.join(options)}" if options else line


def _known(source: str, listed: Sequence[Any]) -> MutableMapping[str, Any] | None:
    """The entry of the same device, if there is one."""
    line, units = _place(source)
    for entry in listed:
        there, others = _place(str(entry.get("source", "")))
        if there != line or not units & others:
            continue
        if units != others:
            raise SheetError(
                "has one entry for several units of this line",
                where=there,
                mend="write an entry for each unit, and add the device again",
            )
        found: MutableMapping[str, Any] = entry
        return found
    return None


def _place(source: str) -> _Place:
    """What tells one device from another: its line, and the units on it."""
    if source.startswith("serial:"):
        return "serial:" + serial_address(source)[0], frozenset({0})
    address = parse_address(source)
    return address.line, frozenset(address.units or (1,))


def _updated(known: MutableMapping[str, Any], entry: _Entry) -> bool:
    """Bring an entry up to date. True where that changed something."""
    before = dict(known)
    for key in ("source", "role", "map"):
        if key not in entry:
            known.pop(key, None)
        elif known.get(key) != entry[key]:
            known[key] = entry[key]
    return dict(known) != before


def _followed(text: str, fresh: Sequence[_Entry]) -> str:
    """The text with these entries after the devices that it has, or else after all."""
    for entry in fresh:
        block = f"[[device]]\n{tomlkit.dumps(entry)}"
        at = _after_devices(text)
        within = f"{text[:at]}\n{block}{text[at:]}"
        # Inside a text of several lines, what looks like a table may be none.
        text = within if _adds(entry, text, within) else _at_end(text, block)
    return text


def _after_devices(text: str) -> int:
    """Where the last device ends: comments and empty lines that follow belong to what comes next."""
    last = max((match.end() for match in _DEVICE.finditer(text)), default=len(text))
    following = _TABLE.search(text, last)
    ends = len(text) if following is None else following.start()
    lines = text[last:ends].splitlines(keepends=True)
    while lines and following is not None and (not lines[-1].strip() or lines[-1].lstrip().startswith("#")):
        ends -= len(lines.pop())
    return ends


def _at_end(text: str, block: str) -> str:
    gap = "" if not text else "\n" if text.endswith("\n") else "\n\n"
    return f"{text}{gap}{block}"


def _adds(entry: _Entry, text: str, longer: str) -> bool:
    """Whether the longer text says what the text says, and has this entry after its devices."""
    wanted = tomllib.loads(text)
    wanted["device"] = [*wanted.get("device", []), entry]
    try:
        return tomllib.loads(longer) == wanted
    except tomllib.TOMLDecodeError:
        return False
