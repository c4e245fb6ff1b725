"""Units that stand behind every number of a column instead of in its header: `1500 W`, `52.1 V`, `80 %`."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable

from recordings.tables.cells import is_missing, is_number
from recordings.tables.units import QUANTITY_OF, Unit, unit_of

_NUMBER_AND_REST = re.compile(r"^([-+−(]?[\d.,][\d.,'’\s\u202f\u00a0]*?)\s*([^\W\d_][^\s\d]*|°\s?[CF]|%)$")
_SHARE = 0.9
_QUANTITIES = {*QUANTITY_OF.values(), "apparent", "energy", "reactive"}


def common_suffix(cells: Iterable[str]) -> tuple[str, Unit | None]:
    """(the text behind the numbers of a column, the unit that it names); ("", None) where most have none."""
    found: Counter[str] = Counter()
    filled = 0
    for cell in cells:
        if is_missing(cell):
            continue
        filled += 1
        match = _NUMBER_AND_REST.match(cell.strip())
        if match:
            found[match[2]] += 1
    if not found:
        return "", None
    text, count = found.most_common(1)[0]
    unit = unit_of(text)
    if unit is None or unit.quantity not in _QUANTITIES or count < _SHARE * filled:
        return "", None
    return text, unit


def without(cell: str, suffix: str) -> str:
    """A cell without the unit behind its number."""
    plain = cell.strip()
    shorter = plain.removesuffix(suffix).rstrip() if suffix else plain
    return shorter if is_number(shorter) else plain
