"""Cells into numbers, whole columns at a time. Missing readings are NaN; what is no number is NaN and counted."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from recordings.errors import ReadError
from recordings.tables.cells import MISSING, NUMBER, OFF, ON, decimal_of

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

MISSING_SPELLINGS = sorted(
    {form for word in MISSING for form in (word, word.upper(), word.title())} | {"NaN", "N/a"}
)
"""Texts of no reading as they stand in files, for readers that compare letter by letter."""


def settle_decimal(cells: Iterable[str]) -> str:
    """The decimal sign of a sample: "." or "," for certain; "" where nothing tells; else the sign in doubt.

    A cell such as 1.234,5 or 0,5 is certain. In doubt are "?," (cells such as 1,234 only) and "?." (1.234 only);
    "??" is "?." beside whole numbers that all lie below a thousand, as grouped numbers do.
    """
    texts = [cell.strip() for cell in cells]
    seen = Counter(decimal_of(cell) for cell in texts)
    point, comma = seen["."], seen[","]
    if point or comma:
        return "." if point >= comma else ","
    if seen["?,"]:
        return "?,"
    if not seen["?."]:
        return ""
    whole = [cell.lstrip("+-−") for cell in texts if cell.lstrip("+-−").isdecimal()]
    grouped = any(cell != "0" for cell in whole) and all(len(cell) <= 3 for cell in whole)
    return "??" if grouped else "?."


def decimal_by(where: str, name: str, found: str, delimiter: str) -> str:
    """The decimal sign that a finding of `settle_decimal` means in a table cut by this delimiter.

    ReadError where it stays open: a wrong guess would be wrong by a thousand.
    """
    if found in (".", ","):
        return found
    if found == "?." or (found == "?," and delimiter == ","):
        return "."
    if found == "?," and delimiter == ";":
        return ","
    raise ReadError(
        f'the numbers of column "{name}" can be read in two ways, a thousand times apart',
        where=where,
        expected="a decimal sign that can't be a thousands sign",
        mend="export the table without thousands separators",
    )


def numbers(texts: Any, decimal: str, switch: bool = False, suffix: str = "") -> tuple[Floats, Flags]:
    """(values, bad) of an Arrow array of text.

    decimal  the decimal sign; the other one, blanks and apostrophes may group thousands
    switch   on/off words count as 1 and 0
    suffix   a unit that may stand behind the number
    """
    import pyarrow as pa
    import pyarrow.compute as pc

    plain = pc.utf8_trim_whitespace(texts)
    plain = pc.fill_null(plain, "")
    missing = pc.is_in(pc.utf8_lower(plain), value_set=pa.array(sorted(MISSING)))
    if switch:
        lower = pc.utf8_lower(plain)
        on, off = (pc.is_in(lower, value_set=pa.array(sorted(words))) for words in (ON, OFF))
        plain = pc.if_else(on, "1", pc.if_else(off, "0", plain))
    if suffix and suffix != "%":
        plain = pc.replace_substring_regex(plain, rf"\s*{re.escape(suffix)}$", "")
    plain = pc.replace_substring_regex(plain, r"\s*%$", "")
    shaped = pc.match_substring_regex(plain, NUMBER[decimal])
    plain = pc.replace_substring(plain, "−", "-")
    plain = pc.replace_substring_regex(plain, r"^\+", "")
    grouping = r"[,\s'’\x{00a0}\x{202f}\x{2009}]" if decimal == "." else r"[.\s'’\x{00a0}\x{202f}\x{2009}]"
    plain = pc.replace_substring_regex(plain, grouping, "")
    plain = pc.replace_substring(plain, ",", ".")
    good = pc.and_(shaped, pc.invert(missing))
    values = pc.cast(pc.if_else(good, plain, None), pa.float64())
    found: Floats = np.asarray(values.to_numpy(zero_copy_only=False), np.float64).copy()
    endless = np.isinf(found)
    found[endless] = np.nan
    bad: Flags = np.asarray(pc.invert(pc.or_(good, missing)).to_numpy(zero_copy_only=False), bool)
    return found, bad | endless
