"""Numbers as a person types them, and as they are shown in a field."""

from __future__ import annotations

import re

from desktop.words import decimal

_PLAIN = re.compile(r"[-+]?(\d+[.,]?\d*|[.,]\d+)")
_THOUSANDS = re.compile(r"[-+]?\d{1,3}[.,]\d{3}")


def parsed(text: str) -> float | None:
    """The number that was typed; None where it is none, or may be meant in two ways.

    Point and comma are both taken as the decimal sign. One that could be a thousands sign as well (1,500) is
    refused, unless it is the decimal sign of the language that is spoken.
    """
    plain = "".join(text.split()).replace("−", "-")
    if not _PLAIN.fullmatch(plain):
        return None
    if _THOUSANDS.fullmatch(plain) and decimal(0.5, 1)[1] not in plain:
        return None
    return float(plain.replace(",", "."))


def shown(value: float) -> str:
    """The number with as many decimals as it has, in the language that is spoken."""
    text = repr(float(value))
    if "e" in text:
        text = f"{value:.10f}".rstrip("0")
    decimals = text.partition(".")[2]
    return decimal(value, len(decimals) if decimals.strip("0") else 0)
