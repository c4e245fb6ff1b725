"""The forms in which dates and times of day are written, as patterns that Python and Arrow both understand."""

from __future__ import annotations

import re

_WEEKDAY = r"(?:[A-Za-zÀ-ÿ]{2,10}\.?,?\s+)?"
_FRACTION = r"(?:[.,:](?P<f>\d+))?"
_HALF = r"\s*(?P<p>[AaPp]\.?\s?[Mm]\.?)?"
ZONE_HOURS = {
    "CET": 1,
    "MEZ": 1,
    "CEST": 2,
    "MESZ": 2,
    "WET": 0,
    "WEST": 1,
    "EET": 2,
    "EEST": 3,
    "EST": -5,
    "EDT": -4,
    "CDT": -5,
    "MST": -7,
    "MDT": -6,
    "PST": -8,
    "PDT": -7,
    "AKST": -9,
    "AKDT": -8,
    "HST": -10,
    "AEST": 10,
    "AEDT": 11,
    "AWST": 8,
    "NZST": 12,
    "NZDT": 13,
}
"""Hours east of UTC of the abbreviations that mean one thing wherever such plants stand. CST, IST and BST don't."""

_ZONE = rf"\s*(?P<z>[Zz]|UTC|GMT|[-+−]\d{{2}}:?\d{{2}}|[-+−]\d{{2}}|{'|'.join(ZONE_HOURS)})?"
_CLOCK = rf"(?P<h>\d{{1,2}})[:h](?P<i>\d{{2}})(?:[:m](?P<s>\d{{2}}){_FRACTION})?{_HALF}{_ZONE}"
_BARE_CLOCK = rf"(?P<h>\d{{2}})(?P<i>\d{{2}})(?P<s>\d{{2}}){_FRACTION}{_HALF}{_ZONE}"

_NUMBERS = r"(?P<a>\d{1,4})(?P<sep>[-/.\s])\s*(?P<b>\d{1,2})[-/.\s]\s*(?P<c>\d{1,4})"
_DAY_NAME = r"(?P<a>\d{1,4})[-/.\s]\s*(?P<b>[A-Za-zÀ-ÿ]{3,10})\.?[-/.,\s]\s*(?P<c>\d{2,4})"
_NAME_DAY = r"(?P<b>[A-Za-zÀ-ÿ]{3,10})\.?\s+(?P<a>\d{1,2}),?\s+(?P<c>\d{4})"
_COMPACT = r"(?P<a>(?:19|20)\d{2})(?P<b>[01]\d)(?P<c>[0-3]\d)"

DATED = tuple(
    rf"^{date}(?:{between}{clock})?$"
    for date, between, clock in (
        (_WEEKDAY + _NUMBERS, r"\.?[T\s,;_-]+", _CLOCK),
        (_WEEKDAY + _DAY_NAME, r"[T\s,;_-]+", _CLOCK),
        (_WEEKDAY + _NAME_DAY, r"[T\s,;_-]+", _CLOCK),
        (_COMPACT, r"[T\s_-]*", _BARE_CLOCK),
        (_COMPACT, r"[T\s_-]+", _CLOCK),
        (_NUMBERS, r"[T\s_]", _BARE_CLOCK),
    )
)
"""Patterns of a date, with or without a time of day: groups a b c, h i s f, p (AM or PM), z (offset)."""

TIME_OF_DAY = rf"^T?{_CLOCK}$"

ISO_WITH_OFFSET = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d(?:\.\d{1,9})?)?(?:Z|[-+]\d\d(?::?\d\d)?)")
ISO_LOCAL = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d(?:\.\d{1,9})?)?")
EPOCH = re.compile(r"[1-9]\d{8,18}(?:[.,]\d*)?|[1-9](?:\.\d+)?[eE]\+?(?:9|1\d)")

_DATED = tuple(re.compile(pattern) for pattern in DATED)
_TIME_OF_DAY = re.compile(TIME_OF_DAY)

_MONTHS = (
    "jan janvier enero ene januar january",
    "feb february februar fev fevr fevrier febrero",
    "mar march mars marz maerz mrz marzo mär",
    "apr april avr avril abril abr",
    "may mai mayo",
    "jun june juni juin junio",
    "jul july juli juil juillet julio",
    "aug august aout agosto ago",
    "sep sept september septembre septiembre",
    "oct october okt oktober octobre octubre",
    "nov november novembre noviembre",
    "dec december dez dezember decembre diciembre dic",
)
MONTHS = {name: place for place, names in enumerate(_MONTHS, 1) for name in names.split()}
"""Folded names of the months in four languages."""


def stamp_kind(cell: str) -> str:
    """What a cell may be: "full" (date and time), "date", "time", "epoch", or ""."""
    plain = cell.strip()
    if len(plain) > 60 or not any(c.isdecimal() for c in plain):
        return ""
    if _TIME_OF_DAY.match(plain):
        return "time"
    for pattern in _DATED:
        match = pattern.match(plain)
        if match:
            return "full" if match["h"] else "date"
    return "epoch" if EPOCH.fullmatch(plain) else ""
