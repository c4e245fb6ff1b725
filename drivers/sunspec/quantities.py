"""One number of a device, wherever in its registers it lies: read, scaled, or not known."""

from __future__ import annotations

from dataclasses import dataclass

from drivers.modbus.planner import Span
from drivers.modbus.reading import Registers
from drivers.sunspec.discovery import Model
from drivers.sunspec.layout import Point
from drivers.sunspec.values import raw_number, scaled


@dataclass(frozen=True, slots=True)
class Quantity:
    """A numeric point with its scale factor, as spans of registers."""

    span: Span
    kind: str
    scale_span: Span | None
    scale: int

    @classmethod
    def of(cls, model: Model, point: Point) -> Quantity:
        """A point of a model on a device."""
        at = point.scale_offset
        return cls(
            Span("holding", model.address + point.offset, point.definition.words),
            point.definition.kind,
            None if at is None else Span("holding", model.address + at, 1),
            point.scale,
        )

    @property
    def spans(self) -> tuple[Span, ...]:
        """The registers that it needs."""
        return (self.span,) if self.scale_span is None else (self.span, self.scale_span)

    def value(self, registers: Registers) -> float | None:
        """The number; None where it isn't implemented, or wasn't read."""
        found = registers.found(self.span)
        raw = None if found is None else raw_number(self.kind, *found)
        if raw is None or self.scale_span is None:
            return None if raw is None else scaled(raw, self.scale)
        found = registers.found(self.scale_span)
        if found is None:
            return None
        exponent = raw_number("sunssf", *found)
        return scaled(raw, None if exponent is None else int(exponent))
