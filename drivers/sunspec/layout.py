"""Where the points of one model on one device lie, and what a copy of its registers says."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from drivers.sunspec.definitions import GroupDefinition, PointDefinition, definition
from drivers.sunspec.values import raw_number, scaled, text

_HEADER = 2


@dataclass(frozen=True, slots=True)
class Point:
    """One point of one model on one device.

    group   "" for the model's own points, else the group's name; `index` counts its repetitions from 1
    offset  registers from the model's start (0 = ID, 1 = L)
    scale_offset, scale  where the exponent of ten stands, or what it is; None and 0 where there is none
    """

    group: str
    index: int
    definition: PointDefinition
    offset: int
    scale_offset: int | None
    scale: int

    @property
    def name(self) -> str:
        """Such as `W`, or `module 2 DCW`."""
        return f"{self.group} {self.index} {self.definition.name}" if self.group else self.definition.name


class Layout:
    """The points of a model of a given length. Points beyond that length are not there."""

    def __init__(self, model: int, length: int) -> None:
        self.model, self.length = model, length
        self._end = length + _HEADER
        self.points: dict[tuple[str, int, str], Point] = {}
        top = definition(model)
        if top is not None:
            self._add(top, "", 0, 0, {})
            self._add_groups(top)

    def point(self, name: str, group: str = "", index: int = 0) -> Point | None:
        """A point by name; None where this model hasn't got it."""
        return self.points.get((group, index, name))

    def repetitions(self, group: str) -> int:
        """How often a group comes."""
        return max((index for name, index, _ in self.points if name == group), default=0)

    def _add_groups(self, top: GroupDefinition) -> None:
        scales = {point.name: point.offset for point in top.points if point.kind == "sunssf"}
        offset = top.words
        for group in top.groups:
            if group.groups or not group.words:
                # Groups in groups are of no model whose points become readings.
                return
            # What fits counts, not what the device's counter says: the one is sure, the other a claim.
            times = (self._end - offset) // group.words if group.repeated else 1
            for index in range(1, times + 1):
                self._add(group, group.name, index, offset, scales)
                offset += group.words

    def _add(self, group: GroupDefinition, name: str, index: int, start: int, outer: dict[str, int]) -> None:
        scales = outer | {
            point.name: start + point.offset for point in group.points if point.kind == "sunssf"
        }
        for each in group.points:
            if start + each.offset + each.words > self._end:
                break
            scale_at = scales.get(each.scale, self._end) if isinstance(each.scale, str) else None
            if scale_at is not None and scale_at >= self._end:
                # Without its exponent a number says nothing.
                continue
            fixed = each.scale if isinstance(each.scale, int) else 0
            self.points[name, index, each.name] = Point(
                name, index, each, start + each.offset, scale_at, fixed
            )

    def decoded(self, registers: bytes) -> Iterator[tuple[Point, float | str | None]]:
        """Every point with its value (numbers scaled), from all registers of the model."""
        for point in self.points.values():
            begin = 2 * point.offset
            data = registers[begin : begin + 2 * point.definition.words]
            if point.definition.kind == "string":
                yield point, text(data)
                continue
            raw = raw_number(point.definition.kind, data)
            exponent: float | int | None = point.scale
            if point.scale_offset is not None:
                at = 2 * point.scale_offset
                exponent = raw_number("sunssf", registers[at : at + 2])
            yield point, None if raw is None else scaled(raw, None if exponent is None else int(exponent))


@lru_cache(maxsize=256)
def layout_of(model: int, length: int) -> Layout:
    """The layout of a model of this length."""
    return Layout(model, length)
