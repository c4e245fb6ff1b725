"""A line of text as readings, or nothing at all: what isn't understood for certain is never made a value."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from drivers.serial_lines.framing import checked
from drivers.serial_lines.sheet import LineMap, Value
from recordings.channels import CHANNELS
from recordings.tables.units import Unit, unit_of

Readings = dict[str, float]
"""channel → reading in the channel's unit and sign; NaN where the device says that it has none."""

_NUMBER = re.compile(r"[-+]?(?:\d{1,18}(?:\.\d{0,18})?|\.\d{1,18})(?:[eE][-+]?\d{1,2})?", re.ASCII)
_WORD = re.compile(r"[A-Za-z /-]*")
_SWITCH = {"on": 1.0, "true": 1.0, "yes": 1.0, "off": 0.0, "false": 0.0, "no": 0.0}
_SPACED_SIGN = re.compile(r"\s*([=:])\s*(?=[^\s=:]+(?:[\s,;&]|$))")
_BETWEEN_PAIRS = re.compile(r"[\s,;&]+")


class NotUnderstoodError(Exception):
    """A line that doesn't say what the map expects of it."""


@dataclass(slots=True)
class Decoder:
    """Makes readings of lines by a map. Keeps count of what it met.

    good   lines that were understood
    bad    lines that were not: noise, a wrong checksum, another number of cells, a value that is no number
    other  sound lines that hold nothing that the map asks for

    Without a checksum a line can only be judged by its form. So the first line after connecting, which may be
    the second half of one, is left out, and after noise (bytes that no text has) the first sound line too; a
    delimited line must have as many cells as those of its kind have had.
    """

    map: LineMap
    good: int = 0
    bad: int = 0
    other: int = 0
    _begins: bool = True
    _doubtful: bool = False
    _cells: dict[str, tuple[int, int]] = field(default_factory=dict)

    def begin(self) -> None:
        """A connection begins, maybe in the middle of a line."""
        self._begins, self._doubtful = True, False
        self._cells.clear()

    def decode(self, line: bytes) -> Readings:
        """What a line says: {} where it says nothing, or nothing that can be trusted."""
        line_map = self.map.line
        sealed = line_map.checksum == "xor"
        begins, self._begins = self._begins, False
        # Half a JSON object is none; half a line of numbers may look like a whole one.
        if begins and not sealed and line_map.format != "json":
            return {}
        text = _text(checked(line) if sealed else line)
        if text is None:
            self._doubtful = not sealed
            self.bad += 1
            return {}
        try:
            readings = self._values(text)
        except NotUnderstoodError:
            self.bad += 1
            return {}
        doubtful, self._doubtful = self._doubtful, False
        if not readings:
            self.other += 1
        elif not doubtful:
            self.good += 1
            return readings
        return {}

    def _values(self, text: str) -> Readings:
        match self.map.line.format:
            case "delimited":
                return self._delimited(text)
            case "pairs":
                members: Mapping[str, Any] = self._pairs(text)
            case "json":
                members = _json(text)
        found = {value: _member(members, value.name) for value in self.map.field}
        return {value.channel: _reading(value, each) for value, each in found.items() if each is not _ABSENT}

    def _delimited(self, text: str) -> Readings:
        cells = [cell.strip() for cell in text.split(self.map.line.delimiter)]
        kind = cells[0] if any(value.name == cells[0] for value in self.map.field if value.name) else ""
        asked = [value for value in self.map.field if value.name == kind]
        if not asked:
            return {}
        count = len(cells)
        usual, before = self._cells.get(kind, (count, count))
        fits = count > max(value.index or 0 for value in asked) and count in (usual, before)
        self._cells[kind] = (count if fits else usual, count)
        if not fits:
            raise NotUnderstoodError
        return {value.channel: _reading(value, cells[value.index or 0]) for value in asked}

    def _pairs(self, text: str) -> dict[str, str]:
        if "delimiter" in self.map.line.model_fields_set:
            pieces = text.split(self.map.line.delimiter)
        else:
            pieces = _BETWEEN_PAIRS.split(_SPACED_SIGN.sub(r"\1", text.strip()))
        pairs: dict[str, str] = {}
        for piece in filter(None, map(str.strip, pieces)):
            name, sign, value = map(str.strip, piece.partition("=" if "=" in piece else ":"))
            if not sign or not name or name in pairs or "=" in value:
                raise NotUnderstoodError
            pairs[name] = value
        return pairs


_ABSENT: Any = object()


def _text(line: bytes | None) -> str | None:
    """The line as text; None where it has bytes that no line of text has."""
    if line is None:
        return None
    try:
        text = line.decode("utf-8").replace("\t", " ")
    except UnicodeDecodeError:
        return None
    return text if text.isprintable() else None


def _json(text: str) -> dict[str, Any]:
    try:
        members = json.loads(text, object_pairs_hook=_unique)
    except (ValueError, RecursionError) as error:
        raise NotUnderstoodError from error
    if not isinstance(members, dict):
        raise NotUnderstoodError
    return members


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) != len(pairs):
        raise NotUnderstoodError
    return members


def _member(members: Mapping[str, Any], name: str) -> Any:
    """A member by its name, or by the way to it with dots between."""
    if name in members:
        return members[name]
    at: Any = members
    for step in name.split("."):
        if not isinstance(at, Mapping) or step not in at:
            return _ABSENT
        at = at[step]
    return at


def _reading(value: Value, found: Any) -> float:
    """A reading of the value's channel; NaN for a missing or impossible one. NotUnderstoodError for no number."""
    channel = CHANNELS[value.channel]
    number = _number(found, value.unit or channel.unit, switch=not channel.unit)
    unit = unit_of(value.unit) if value.unit else Unit(channel.unit, "")
    reading = value.sign * (number * unit.scale + unit.offset) if unit else math.nan
    return reading if channel.lowest <= reading <= channel.highest else math.nan


def _number(found: Any, unit: str, *, switch: bool) -> float:
    if found is None:
        return math.nan
    if isinstance(found, (bool, int, float)):
        if isinstance(found, bool) and not switch:
            raise NotUnderstoodError
        return _finite(float, found)
    if not isinstance(found, str):
        raise NotUnderstoodError
    text = found.strip().removesuffix(unit).strip()
    if switch and text.lower() in _SWITCH:
        return _SWITCH[text.lower()]
    if _NUMBER.fullmatch(text):
        return _finite(float, text)
    # A word where a number is due ("n/a", "ERR", "--") is a device's way to say that it has none.
    if _WORD.fullmatch(text):
        return math.nan
    raise NotUnderstoodError


def _finite(convert: Callable[[Any], float], found: Any) -> float:
    try:
        return convert(found)
    except (ValueError, OverflowError) as error:
        raise NotUnderstoodError from error
