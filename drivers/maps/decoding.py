"""From the registers of one map entry to a reading of its channel."""

from __future__ import annotations

import math
from dataclasses import dataclass

from drivers.maps.sheet import ReadEntry
from drivers.maps.types import WORDS, number, ordered
from drivers.modbus.planner import Span
from drivers.modbus.reading import Registers
from recordings.channels import CHANNELS
from recordings.tables.units import unit_of

_LARGEST_EXPONENT = 10


@dataclass(frozen=True, slots=True)
class Value:
    """One entry, ready to be decoded over and over.

    factor, offset  raw · scale · factor + offset, in the channel's unit and sign
    """

    entry: ReadEntry
    span: Span
    scale_span: Span | None
    word_order: str
    factor: float
    offset: float

    @classmethod
    def of(cls, entry: ReadEntry, word_order: str) -> Value:
        """An entry of a map whose device has this word order."""
        unit = unit_of(entry.unit) if entry.unit is not None else None
        by, plus = (unit.scale, unit.offset) if unit is not None else (1.0, 0.0)
        scale_at = entry.scale_address
        return cls(
            entry,
            Span(entry.table, entry.address, WORDS[entry.type]),
            None if scale_at is None else Span(entry.table, scale_at, 1),
            entry.word_order or word_order,
            entry.sign * by,
            entry.sign * (by * entry.offset + plus),
        )

    @property
    def spans(self) -> tuple[Span, ...]:
        """The registers that it needs."""
        return (self.span,) if self.scale_span is None else (self.span, self.scale_span)

    def decoded(self, registers: Registers) -> float | None:
        """The reading, NaN where there is none or no plant can show it; None where nothing was read."""
        computed = self.computed(registers)
        return None if computed is None else within(self.entry.channel, computed)

    def computed(self, registers: Registers) -> float | None:
        """The number as the map makes it, however odd; NaN where the device says that it has none."""
        data = registers.bytes_of(self.span)
        if data is None:
            return None
        data = ordered(data, self.word_order)
        if int.from_bytes(data, "big") in self.entry.patterns:
            return math.nan
        scale = self._scale(registers)
        if scale is None:
            return None
        raw = number(data, self.entry.type, self.entry.bit or 0)
        return raw * scale * self.factor + self.offset

    def _scale(self, registers: Registers) -> float | None:
        if self.scale_span is None:
            return self.entry.scale
        data = registers.bytes_of(self.scale_span)
        if data is None:
            return None
        exponent = int.from_bytes(data, "big", signed=True)
        return self.entry.scale * ten_to(exponent)


def ten_to(exponent: int) -> float:
    """10^exponent as a correctly rounded number; NaN beyond ±10, which no device means."""
    if abs(exponent) > _LARGEST_EXPONENT:
        return math.nan
    return float(f"1e{exponent}")


def within(channel: str, value: float) -> float:
    """The value, or NaN where no small plant can show it: then it is a fault of the device or of its map."""
    limits = CHANNELS[channel]
    return value if limits.lowest <= value <= limits.highest else math.nan
