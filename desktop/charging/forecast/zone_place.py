"""Roughly where on earth a time zone is: the place of its principal town in the time zone database."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime, timedelta, tzinfo
from functools import cache
from importlib import resources
from importlib.util import find_spec
from pathlib import Path
from typing import NamedTuple
from zoneinfo import TZPATH

_TABLE = "zone.tab"
_PLACE = re.compile(r"([+-])(\d{2})(\d{2})(\d{2})?([+-])(\d{3})(\d{2})(\d{2})?$")
_TOWN_SD = (3.0, 4.0)
_ANYWHERE, _ANYWHERE_SD = 38.0, (14.0, 8.0)
"""Where most people live, if nothing tells (common practice, no source)."""


_ANYWHERE_ROUND_SD = 100.0
"""Nearly the same all around the earth."""


class Place(NamedTuple):
    """Degrees, north and east positive, and standard deviations."""

    latitude: float
    longitude: float
    latitude_sd: float
    longitude_sd: float


def anywhere() -> Place:
    """Where a plant is of which not even the zone is known."""
    return Place(_ANYWHERE, 0.0, _ANYWHERE_SD[0], _ANYWHERE_ROUND_SD)


@cache
def place_of(zone: tzinfo) -> Place:
    """By the zone's town; where the database lacks it, by the zone's winter time and somewhere in the north."""
    found = _towns().get(str(getattr(zone, "key", "")))
    if found is not None:
        return Place(*found, *_TOWN_SD)
    offset = zone.utcoffset(datetime(2025, 1, 1)) or timedelta()
    return Place(_ANYWHERE, offset.total_seconds() / 240, *_ANYWHERE_SD)


@cache
def _towns() -> dict[str, tuple[float, float]]:
    text = next(_tables(), "")
    rows = [line.split("\t") for line in text.splitlines() if line and not line.startswith("#")]
    places = {row[2]: _PLACE.match(row[1]) for row in rows if len(row) > 2}
    return {
        name: (_degrees(*found.groups()[:4]), _degrees(*found.groups()[4:]))
        for name, found in places.items()
        if found is not None
    }


def _tables() -> Iterator[str]:
    for folder in TZPATH:
        path = Path(folder) / _TABLE
        if path.is_file():
            yield path.read_text(encoding="utf-8")
    if find_spec("tzdata") is not None:
        packed = resources.files("tzdata") / "zoneinfo" / _TABLE
        if packed.is_file():
            yield packed.read_text(encoding="utf-8")


def _degrees(sign: str, degrees: str, minutes: str, seconds: str | None) -> float:
    value = int(degrees) + int(minutes) / 60 + int(seconds or 0) / 3600
    return -value if sign == "-" else value
