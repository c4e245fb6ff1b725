"""The published model definitions, as the pysunspec2 package carries them (JSON, Apache-2.0)."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

_FIXED_WORDS = {
    "int16": 1,
    "uint16": 1,
    "count": 1,
    "acc16": 1,
    "enum16": 1,
    "bitfield16": 1,
    "pad": 1,
    "sunssf": 1,
    "int32": 2,
    "uint32": 2,
    "acc32": 2,
    "enum32": 2,
    "bitfield32": 2,
    "float32": 2,
    "ipaddr": 2,
    "int64": 4,
    "uint64": 4,
    "acc64": 4,
    "bitfield64": 4,
    "float64": 4,
    "eui48": 4,
    "ipv6addr": 8,
}


@dataclass(frozen=True, slots=True)
class PointDefinition:
    """A point of a model: its offset in its group, and the scale that it is read with.

    scale   the name of the scale factor's point, a fixed exponent, or None
    symbols value → name, of enumerations
    """

    name: str
    kind: str
    offset: int
    words: int
    unit: str
    scale: str | int | None
    symbols: dict[int, str]


@dataclass(frozen=True, slots=True)
class GroupDefinition:
    """Points that follow each other; `repeated` where the group comes several times.

    groups  the groups that follow its points
    words   of its own points
    """

    name: str
    points: tuple[PointDefinition, ...]
    words: int
    repeated: bool
    groups: tuple[GroupDefinition, ...]


@cache
def definition(model: int) -> GroupDefinition | None:
    """A model's definition; None where there is none."""
    source = files("sunspec2") / "models" / "json" / f"model_{model}.json"
    if not source.is_file():
        return None
    return _group(json.loads(source.read_text(encoding="utf-8"))["group"])


def _group(table: dict[str, Any]) -> GroupDefinition:
    points: list[PointDefinition] = []
    offset = 0
    for each in table.get("points", ()):
        point = _point(each, offset)
        points.append(point)
        offset += point.words
    groups = tuple(_group(each) for each in table.get("groups", ()))
    return GroupDefinition(table["name"], tuple(points), offset, "count" in table, groups)


def _point(table: dict[str, Any], offset: int) -> PointDefinition:
    kind, scale = table["type"], table.get("sf")
    words = int(table.get("size") or _FIXED_WORDS[kind])
    if isinstance(scale, str) and scale.lstrip("+-").isdigit():
        scale = int(scale)
    symbols = {int(each["value"]): str(each["name"]) for each in table.get("symbols", ())}
    return PointDefinition(table["name"], kind, offset, words, table.get("units", ""), scale, symbols)
