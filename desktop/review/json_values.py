"""Values as strict JSON has them: times in UTC, null for what isn't known."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from typing import Any

Object = dict[str, Any]


def stamp(nanoseconds: int) -> str:
    """A UTC nanosecond stamp as ISO 8601 with Z, with as many decimals as it needs."""
    whole, rest = divmod(int(nanoseconds), 1_000_000_000)
    text = datetime.fromtimestamp(whole, UTC).strftime("%Y-%m-%dT%H:%M:%S")
    fraction = f".{rest:09d}".rstrip("0") if rest else ""
    return f"{text}{fraction}Z"


def number(value: float | None) -> float | None:
    """A number, or None where there is none."""
    if value is None or not math.isfinite(value):
        return None
    return float(value)


def kilo(value: float) -> float | None:
    """Thousandths of a number (Wh as kWh)."""
    return number(value / 1000)
