"""SunSpec information models as a device lays them out in registers: points, scale factors, what isn't there."""

from __future__ import annotations

import math
import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

Kind = Literal["int16", "uint16", "acc32", "sunssf", "text", "pad"]

_NOTHING: dict[Kind, bytes] = {
    "int16": b"\x80\x00",
    "uint16": b"\xff\xff",
    "acc32": b"\x00\x00\x00\x00",
    "sunssf": b"\x80\x00",
    "text": b"",
    "pad": b"\x80\x00",
}
_RANGE: dict[Kind, tuple[int, int]] = {"int16": (-0x7FFF, 0x7FFF), "uint16": (0, 0xFFFE)}
_PACKED = {"int16": struct.Struct(">h"), "uint16": struct.Struct(">H")}


@dataclass(frozen=True, slots=True)
class Told:
    """A point that tells a reading: raw = sign · reading / 10^exponent.

    offset  registers from the model's start (0 = ID, 1 = L)
    """

    offset: int
    kind: Kind
    channel: str
    exponent: int = 0
    sign: int = 1

    def raw(self, values: Mapping[str, float]) -> bytes:
        """Its register; "not implemented" where there is no reading, or none that fits."""
        value = values.get(self.channel, math.nan)
        least, most = _RANGE[self.kind]
        if math.isnan(value):
            return _NOTHING[self.kind]
        whole = round(self.sign * value * 10.0**-self.exponent)
        return _PACKED[self.kind].pack(whole) if least <= whole <= most else _NOTHING[self.kind]


@dataclass(frozen=True, slots=True)
class Model:
    """One model of a device.

    length    registers after ID and L
    kinds     offset → kind, of every point that isn't int16: they are told as not implemented where nothing else is
    fixed     offset → what stands there always
    told      the points that tell readings
    """

    number: int
    length: int
    kinds: Mapping[int, Kind] = field(default_factory=dict)
    fixed: Mapping[int, bytes] = field(default_factory=dict)
    told: Sequence[Told] = ()

    def registers(self, values: Mapping[str, float], more: Mapping[int, bytes] | None = None) -> bytes:
        """All of it, with these readings by channel; `more` lays bytes over it."""
        data = bytearray(_NOTHING["int16"] * (self.length + 2))
        nothing = {offset: _NOTHING[kind] for offset, kind in self.kinds.items()}
        told = {point.offset: point.raw(values) for point in self.told}
        head = {0: struct.pack(">HH", self.number, self.length)}
        for layer in (nothing, self.fixed, told, head, more or {}):
            for offset, piece in layer.items():
                data[2 * offset : 2 * offset + len(piece)] = piece
        return bytes(data)


def number(value: int) -> bytes:
    """One register that always holds this number, signed or not."""
    return struct.pack(">H", value & 0xFFFF)


def string(text: str, words: int) -> bytes:
    """Text in so many registers, filled up with NUL."""
    return text.encode("ascii", "replace")[: 2 * words].ljust(2 * words, b"\0")
