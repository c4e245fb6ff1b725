"""Cells of dates and times into nanoseconds, whole columns at a time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from recordings.tables.stampforms import DATED, MONTHS, ZONE_HOURS
from recordings.tables.words import folded

Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

DAY = 86_400_000_000_000
SECOND = 1_000_000_000
_ORDER_KNOWN = -1

FIRST_YEAR, LAST_YEAR = 1970, 2199
"""A stamp outside of these is a logger's slip; and the span between any two of them fits nanoseconds."""


@dataclass(slots=True)
class Stamps:
    """Stamps of consecutive rows.

    ns     nanoseconds since 1970 (UTC where `fixed`, else by the site's clock); where `parts` is given and not
           -1 they are the time of day alone, less the offset
    fixed  the stamp carries its own offset
    valid  the cell could be understood
    parts  a·10⁸ + b·10⁴ + c of dates a/b/c whose order is still open, -1 elsewhere; None where none is open
    """

    ns: Integers
    fixed: Flags
    valid: Flags
    parts: Integers | None = None

    def rows(self, keep: Flags) -> Stamps:
        """Some of the rows."""
        parts = None if self.parts is None else self.parts[keep]
        return Stamps(self.ns[keep], self.fixed[keep], self.valid[keep], parts)


def exact_stamps(ns: Integers, fixed: bool) -> Stamps:
    """Stamps that another reader has already understood."""
    return Stamps(ns, np.full(len(ns), fixed), np.ones(len(ns), bool))


def epoch_stamps(texts: Any, factor: int) -> Stamps:
    """Stamps of numbers since 1970, whole or with a fraction, exact to the nanosecond.

    factor  nanoseconds per unit
    """
    import pyarrow.compute as pc

    plain = pc.fill_null(pc.utf8_trim_whitespace(texts), "")
    split = pc.extract_regex(plain, r"^(?P<w>\d{1,18}|[1-8]\d{18})(?:[.,](?P<f>\d*))?$")
    whole, fraction = _integers(split, "w"), _field(split, "f")
    digits = {10**9: 9, 10**6: 6, 10**3: 3, 1: 0}[factor]
    part = _fraction(fraction, digits)
    valid = (whole >= 0) & (whole <= _LAST_NS // factor)
    ns = np.where(valid, whole, 0) * factor + part
    scientific = ~valid & _matches(plain, r"^\d(?:\.\d+)?[eE]\+?\d+$")
    if scientific.any():
        rounded = np.array([float(text) * factor for text in plain.filter(scientific).to_pylist()])
        usable = rounded <= _LAST_NS
        ns[np.flatnonzero(scientific)[usable]] = rounded[usable].astype(np.int64)
        valid[np.flatnonzero(scientific)[usable]] = True
    return Stamps(ns, np.ones(len(ns), bool), valid)


def in_reach(ns: Integers) -> Flags:
    """(n,) where nanoseconds since 1970 lie in the years that a recording may have."""
    return (ns >= 0) & (ns <= _LAST_NS)


def text_stamps(texts: Any, offset: int | None) -> Stamps:
    """Stamps of an Arrow array of text in any of the known forms.

    offset  seconds east of UTC that hold where a cell has no offset of its own, None for the site's clock
    """
    import pyarrow.compute as pc

    plain = pc.fill_null(pc.utf8_trim_whitespace(texts), "")
    rows = len(plain)
    found = Stamps(np.zeros(rows, np.int64), np.zeros(rows, bool), np.zeros(rows, bool), np.full(rows, -1))
    left = np.arange(rows)
    for pattern in DATED:
        if not len(left):
            break
        part = plain if len(left) == rows else plain.take(left)
        split = pc.extract_regex(part, pattern)
        hit = np.asarray(split.is_valid().to_numpy(zero_copy_only=False), bool)
        if hit.any():
            understood = _understood(split.filter(hit), offset)
            _put(found, left[hit], understood)
            left = left[~hit]
    if found.parts is not None and not (found.parts >= 0).any():
        found.parts = None
    return found


def _put(found: Stamps, at: Integers, part: Stamps) -> None:
    found.ns[at], found.fixed[at], found.valid[at] = part.ns, part.fixed, part.valid
    if found.parts is not None and part.parts is not None:
        found.parts[at] = part.parts


def _understood(split: Any, offset: int | None) -> Stamps:
    """Rows that all match one pattern."""
    clock, good = _time_of_day(split)
    east, own = _offsets(split)
    east = np.where(own, east, offset or 0)
    first = _field(split, "a")
    a, c = _integers(split, "a"), _integers(split, "c")
    b, named = _months(split)
    year_first = _lengths(first) == 4
    year, day = np.where(year_first, a, c), np.where(year_first, c, a)
    year = np.where(year < 100, year + 2000, year)
    # A year written 0001 is year 1.
    good = good & ~((year_first & (a < 1000)) | ((_lengths(_field(split, "c")) == 4) & (c < 1000)))
    settled = year_first | named
    days, real = days_of(year, np.where(settled, b, 1), np.where(settled, day, 1))
    dotted_order = a * 10**8 + b * 10**4 + c
    ns = clock - east * SECOND + np.where(settled, days, 0) * DAY
    parts = np.where(settled, _ORDER_KNOWN, dotted_order)
    return Stamps(ns, own | (offset is not None), good & np.where(settled, real, True), parts)


def days_of(year: Integers, month: Integers, day: Integers) -> tuple[Integers, Flags]:
    """(days since 1970, whether there is such a date within the years that a recording may have)."""
    real = (
        (year >= FIRST_YEAR) & (year <= LAST_YEAR) & (month >= 1) & (month <= 12) & (day >= 1) & (day <= 31)
    )
    months = np.where(real, (year - 1970) * 12 + month - 1, 0)
    starts = months.astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
    ends = (months + 1).astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
    days = starts + np.where(real, day, 1) - 1
    return days, real & (days < ends)


_LAST_NS = int(days_of(np.array([LAST_YEAR]), np.array([12]), np.array([31]))[0][0] + 1) * DAY - 1


def _time_of_day(split: Any) -> tuple[Integers, Flags]:
    hour, minute, second = (np.maximum(_integers(split, name), 0) for name in "his")
    half = _field(split, "p")
    with_half = _lengths(half) > 0
    noon = _matches(half, "^[Pp]")
    good = (minute < 60) & (second <= 60) & np.where(with_half, (hour >= 1) & (hour <= 12), hour <= 24)
    good &= (hour < 24) | ((minute == 0) & (second == 0))
    hour = np.where(with_half, hour % 12 + 12 * noon, hour)
    clock = ((hour * 60 + minute) * 60 + second) * SECOND + _fraction(_field(split, "f"), 9)
    return clock, good


def _offsets(split: Any) -> tuple[Integers, Flags]:
    """(seconds east of UTC, whether the cell says so)."""
    import pyarrow.compute as pc

    zone = _field(split, "z")
    own = _lengths(zone) > 0
    if not own.any():
        return np.zeros(len(own), np.int64), own
    parts = pc.extract_regex(zone, r"^(?P<g>[-+−])(?P<h>\d\d):?(?P<m>\d\d)?$")
    hours, minutes = (np.maximum(_integers(parts, name), 0) for name in "hm")
    west = _matches(zone, "^[-−]")
    east = np.where(west, -1, 1) * (hours * 3600 + minutes * 60)
    for name, offset in ZONE_HOURS.items():
        east = np.where(np.asarray(pc.equal(zone, name)), offset * 3600, east)
    return east, own


def _months(split: Any) -> tuple[Integers, Flags]:
    """(months, whether they are written as names); a name that is no month is month 0."""
    import pyarrow as pa
    import pyarrow.compute as pc

    texts = _field(split, "b")
    named = _matches(texts, r"^\D")
    if not named.any():
        return _integers(split, "b"), named
    coded = pc.dictionary_encode(texts) if not isinstance(texts, pa.DictionaryArray) else texts
    values = [_month(text) for text in coded.dictionary.to_pylist()]
    return np.array(values, np.int64)[np.asarray(coded.indices)], named


def _month(text: str) -> int:
    return int(text) if text.isdecimal() else MONTHS.get(folded(text), 0)


def _fraction(texts: Any, digits: int) -> Integers:
    """The digits behind the decimal sign as a whole number of `digits` digits; longer ones are cut."""
    import pyarrow as pa
    import pyarrow.compute as pc

    if not digits:
        return np.zeros(len(texts), np.int64)
    cut = pc.utf8_slice_codeunits(texts, 0, digits)
    filled = pc.utf8_rpad(pc.fill_null(cut, ""), digits, "0")
    return np.asarray(pc.cast(filled, pa.int64()))


def _field(split: Any, name: str) -> Any:
    import pyarrow as pa
    import pyarrow.compute as pc

    if all(split.type.field(place).name != name for place in range(split.type.num_fields)):
        return pa.array([""] * len(split))
    return pc.fill_null(pc.struct_field(split, name), "")


def _integers(split: Any, name: str) -> Integers:
    """A group of digits as numbers; -1 where it is empty."""
    import pyarrow as pa
    import pyarrow.compute as pc

    texts = _field(split, name)
    return np.asarray(pc.cast(pc.if_else(pc.equal(texts, ""), "-1", texts), pa.int64()))


def _lengths(texts: Any) -> Integers:
    import pyarrow.compute as pc

    return np.asarray(pc.utf8_length(texts)).astype(np.int64)


def _matches(texts: Any, pattern: str) -> Flags:
    import pyarrow.compute as pc

    return np.asarray(pc.match_substring_regex(texts, pattern).to_numpy(zero_copy_only=False), bool)
