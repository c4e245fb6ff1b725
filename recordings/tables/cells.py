"""What single cells look like: numbers, missing readings, switches, stamps."""

from __future__ import annotations

import re


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


MISSING = _words(
    "na n/a n.a. n.a nan null none nil - -- --- #n/a #na ? n.v. nv k.a. n.d. nd s/d s.d. missing unknown "
    "unavailable void * . .. #div/0! #value! #ref! #num! #null! (null) (none) <null> <na> – — nodata no_data"
) | {"", "k. a.", "no data", "not available", "nicht verfügbar", "non disponible", "no disponible"}
"""Folded texts that say that there is no reading."""

ON = _words("1 true on yes enabled enable y t ein an ja aktiv wahr oui marche vrai si sí verdadero activo")
OFF = _words(
    "0 false off no disabled disable n f aus nein inaktiv falsch non arret arrêt faux inactivo falso"
)

_GAPS = "[ '’\u00a0\u202f\u2009]"
_SIGN = "[-+−]?"
NUMBER = {
    ".": rf"^{_SIGN}(?:(?:\d{{1,3}}(?:(?:,|{_GAPS})\d{{3}})+|\d+)(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?$",
    ",": rf"^{_SIGN}(?:(?:\d{{1,3}}(?:(?:\.|{_GAPS})\d{{3}})+|\d+)(?:,\d*)?|,\d+)(?:[eE][-+]?\d+)?$",
}
"""Numbers with decimal point or decimal comma, thousands grouped or not."""

_POINT = re.compile(NUMBER["."], re.ASCII)
_COMMA = re.compile(NUMBER[","], re.ASCII)
_BELOW_ONE = re.compile(r"^[-+−]?0([.,])\d{3}$", re.ASCII)
"""Groups of thousands don't begin with a nought."""

_GROUPED = re.compile(r"^[-+−]?[1-9]\d{0,2}([.,])\d{3}$", re.ASCII)


def is_missing(cell: str) -> bool:
    """True for an empty cell and the usual words for no reading."""
    return cell.strip().casefold() in MISSING


def is_switch(cell: str) -> bool:
    """True for on/off words in the four languages."""
    return cell.strip().casefold() in ON | OFF


def is_number(cell: str) -> bool:
    """True for a number in either notation, a percent sign behind it allowed."""
    plain = cell.strip().removesuffix("%").rstrip()
    return bool(_POINT.match(plain) or _COMMA.match(plain))


def number(cell: str, decimal: str = ".") -> float:
    """A number that `is_number` in this notation; NaN for anything else."""
    plain = cell.strip().removesuffix("%").rstrip().replace("−", "-")
    if not re.match(NUMBER[decimal], plain, re.ASCII):
        return float("nan")
    plain = re.sub(_GAPS, "", plain).replace("," if decimal == "." else ".", "").replace(",", ".")
    return float(plain)


def decimal_of(cell: str) -> str:
    """What a cell tells of its notation: "." or "," for certain, "?." or "?," where it may be a thousands sign."""
    plain = cell.strip().removesuffix("%").rstrip()
    point, comma = bool(_POINT.match(plain)), bool(_COMMA.match(plain))
    if point and comma:
        small = _BELOW_ONE.match(plain)
        if small:
            return small[1]
        grouped = _GROUPED.match(plain)
        return f"?{grouped[1]}" if grouped else ""
    if point:
        return "." if ("." in plain or "," in plain) else ""
    return "," if comma else ""
