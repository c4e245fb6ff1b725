"""Numbers with no more digits than their uncertainty bears."""

from __future__ import annotations

import math

from desktop.charging.fuel.phrases import FINE
from desktop.words import NOT_KNOWN, decimal, tr

_MOST = 2
_TWO_BELOW = 3.0
"""A standard deviation that begins with 1 or 2 is told with two digits, others with one."""


def places(sd: float, most: int = _MOST) -> int:
    """Decimals that a standard deviation leaves room for, at most `most`; `most` where it isn't known or 0."""
    if not (sd > 0 and math.isfinite(sd)):
        return most
    first = math.floor(math.log10(sd))
    two = sd / 10**first < _TWO_BELOW
    return min(most, max(0, -first + (1 if two else 0)))


def fuel_places(sd: float) -> int:
    """Decimals of an amount of fuel, as in the sentence that tells it."""
    return 2 if sd < FINE else 1


def told(value: float, sd: float) -> str:
    """A number; `not known` where there is none."""
    return tr(NOT_KNOWN) if math.isnan(value) else decimal(value, places(sd))


def spread(sd: float) -> str:
    """A standard deviation as it stands beside its number; a dash where there is none."""
    if not (sd > 0 and math.isfinite(sd)):
        return "–"
    text = decimal(sd, places(sd))
    return f"<\u00a0{decimal(0.01, 2)}" if float(f"{sd:.{places(sd)}f}") == 0 else text
