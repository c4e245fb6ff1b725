"""Estimates as text: as many digits as their doubt supports."""

from __future__ import annotations

import math

from desktop.comparison.estimate import Estimate, Verdict
from desktop.words import NOT_KNOWN, Phrase, decimal, template

UNITS: dict[str, tuple[float, str, str]] = {
    "kWh/h": (1.0, "kWh/h", "kWh/h"),
    "kW": (1.0, "kW", "kW"),
    "A": (1.0, "A", "A"),
    "share": (100.0, "%", template("points")),
    "s": (1 / 60, "min", "min"),
}
"""Unit in JSON → by how much to multiply, and what is shown behind a value and behind a change."""

VERDICTS: dict[Verdict, str] = {
    "more": template("more"),
    "less": template("less"),
    "within chance": template("no more than chance"),
    "same": template("the same"),
    "too little": template("too short to tell"),
    "not known": template("not known"),
}

_MOST_DIGITS = 3
_USUAL_DIGITS = 2


def value_phrase(found: Estimate, unit: str) -> Phrase:
    """`4.72 ± 0.05 kW`."""
    factor, behind, _ = UNITS.get(unit, (1.0, unit, unit))
    return _phrase(found, factor, behind, signed=False)


def change_phrase(found: Estimate, unit: str) -> Phrase:
    """`+0.31 ± 0.07 kW`."""
    factor, _, behind = UNITS.get(unit, (1.0, unit, unit))
    return _phrase(found, factor, behind, signed=True)


def _phrase(found: Estimate, factor: float, unit: str, *, signed: bool) -> Phrase:
    if not found.known:
        return Phrase(NOT_KNOWN)
    value, sd = factor * found.value, factor * found.sd
    digits = _digits(sd)
    if sd > 0 and not any(float(f"{each:.{digits}f}") for each in (value, sd)):
        # Less than the last digit that is shown: what the readings leave over of nothing.
        return Phrase("{value} {unit}", value="0", unit=unit)
    number = decimal(value, digits)
    if signed and value > 0 and number.strip("0.,"):
        number = f"+{number}"
    if sd > 0:
        return Phrase("{value} ± {sd} {unit}", value=number, sd=decimal(sd, digits), unit=unit)
    if math.isnan(sd):
        return Phrase("{value} {unit}, give or take an unknown amount", value=number, unit=unit)
    return Phrase("{value} {unit}", value=number, unit=unit)


def _digits(sd: float) -> int:
    """Decimals, so that the doubt has two digits where it begins with a 1 or 2, else one."""
    if not 0 < sd < math.inf:
        return _USUAL_DIGITS if sd else 1
    size = math.floor(math.log10(sd))
    return min(_MOST_DIGITS, max(0, (1 if sd / 10**size < 3 else 0) - size))


def verdict_phrase(verdict: Verdict) -> Phrase:
    """Whether a change is more than chance."""
    return Phrase(VERDICTS[verdict])
