"""The types that numbers have in registers, and how words become one."""

from __future__ import annotations

import math
import struct
from typing import Literal

RegisterType = Literal["u16", "i16", "u32", "i32", "u64", "i64", "f32", "f64", "bit"]

WORDS: dict[RegisterType, int] = {
    "u16": 1,
    "i16": 1,
    "u32": 2,
    "i32": 2,
    "u64": 4,
    "i64": 4,
    "f32": 2,
    "f64": 4,
    "bit": 1,
}
"""How many registers each type takes."""

_FORMATS: dict[RegisterType, struct.Struct] = {
    "u16": struct.Struct(">H"),
    "i16": struct.Struct(">h"),
    "u32": struct.Struct(">I"),
    "i32": struct.Struct(">i"),
    "u64": struct.Struct(">Q"),
    "i64": struct.Struct(">q"),
    "f32": struct.Struct(">f"),
    "f64": struct.Struct(">d"),
    "bit": struct.Struct(">H"),
}


def ordered(data: bytes, word_order: str) -> bytes:
    """Registers' bytes with the high word first; `word_order` says how they came."""
    if word_order == "big" or len(data) == 2:
        return data
    return b"".join(data[at : at + 2] for at in range(len(data) - 2, -1, -2))


def number(data: bytes, kind: RegisterType, bit: int = 0) -> float:
    """The number in bytes with the high word first; NaN for a float that is none."""
    value = _FORMATS[kind].unpack(data)[0]
    if kind == "bit":
        return float(value >> bit & 1)
    return float(value) if math.isfinite(value) else math.nan
