"""What the registers of a point say; None where the point isn't implemented."""

from __future__ import annotations

import math
import struct

_NUMBERS: dict[str, tuple[struct.Struct, int | None]] = {
    "int16": (struct.Struct(">h"), -0x8000),
    "sunssf": (struct.Struct(">h"), -0x8000),
    "uint16": (struct.Struct(">H"), 0xFFFF),
    "count": (struct.Struct(">H"), 0xFFFF),
    "enum16": (struct.Struct(">H"), 0xFFFF),
    "bitfield16": (struct.Struct(">H"), 0xFFFF),
    "acc16": (struct.Struct(">H"), 0),
    "pad": (struct.Struct(">H"), None),
    "int32": (struct.Struct(">i"), -0x80000000),
    "uint32": (struct.Struct(">I"), 0xFFFFFFFF),
    "enum32": (struct.Struct(">I"), 0xFFFFFFFF),
    "bitfield32": (struct.Struct(">I"), 0xFFFFFFFF),
    "acc32": (struct.Struct(">I"), 0),
    "ipaddr": (struct.Struct(">I"), 0),
    "int64": (struct.Struct(">q"), -0x8000000000000000),
    "uint64": (struct.Struct(">Q"), 0xFFFFFFFFFFFFFFFF),
    "bitfield64": (struct.Struct(">Q"), 0xFFFFFFFFFFFFFFFF),
    "acc64": (struct.Struct(">Q"), 0),
}
"""How each whole-number type is packed, and the value that says "not implemented"."""

_FLOATS = {"float32": struct.Struct(">f"), "float64": struct.Struct(">d")}

_LARGEST_EXPONENT = 10

_POWERS = {
    exponent: float(f"1e{abs(exponent)}") for exponent in range(-_LARGEST_EXPONENT, 1 + _LARGEST_EXPONENT)
}


def raw_number(kind: str, data: bytes, start: int = 0) -> float | int | None:
    """The number of a numeric point before scaling, from the byte `start` on.

    None where it isn't implemented, or is no number.
    """
    if kind in _NUMBERS:
        packing, absent = _NUMBERS[kind]
        value: int = packing.unpack_from(data, start)[0]
        if value == absent or (kind == "bitfield32" and value & 0x80000000):
            return None
        return value
    if kind in _FLOATS:
        number: float = _FLOATS[kind].unpack_from(data, start)[0]
        return number if math.isfinite(number) else None
    return None


def scaled(raw: float, exponent: int | None) -> float | None:
    """raw · 10^exponent; an exponent that isn't implemented counts as 0, one beyond ±10 means nothing."""
    if not exponent:
        return float(raw)
    if exponent not in _POWERS:
        return None
    # Dividing by a whole power of ten rounds once; multiplying by 0.1 would round twice.
    return raw * _POWERS[exponent] if exponent > 0 else raw / _POWERS[exponent]


def text(data: bytes) -> str | None:
    """A string point; None where all of it is NUL."""
    found = data.split(b"\0", 1)[0].decode("utf-8", "replace").strip()
    return found or None
