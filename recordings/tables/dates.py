"""Day-first or month-first: settled by the whole column, by what the caller says, or refused."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recordings.errors import UnclearDatesError
from recordings.tables.stamps import DAY, Stamps, days_of

_FAR_DAYS = 27
_NEAR_DAYS = 7
_NAMES = {"dmy": "day first", "mdy": "month first", "ymd": "year first"}


@dataclass(frozen=True, slots=True)
class Order:
    """The order that was settled and by what."""

    name: str
    how: str

    def told(self) -> str:
        """For people: `dates are day first (a day above 12)`."""
        return f"dates are {_NAMES[self.name]} ({self.how})"


def settle(stamps: Stamps, day_first: bool | None, dotted: bool, where: str) -> Order | None:
    """Complete the dates whose order was open, in place; says how. UnclearDatesError where it stays open.

    stamps     of the whole column; rows whose date doesn't exist become invalid
    day_first  what the caller says
    dotted     the dates are written with points (1.2.2024), which is done day first only
    """
    if stamps.parts is None:
        return None
    open_rows = (stamps.parts >= 0) & stamps.valid
    if not open_rows.any():
        return None
    a, b, c = _abc(stamps.parts[open_rows])
    order = _order(a, b, c, day_first, dotted, where)
    days, real = _days(order.name, a, b, c)
    stamps.ns[open_rows] += days * DAY
    stamps.valid[open_rows] &= real
    stamps.parts = None
    return order


def _abc(parts: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    return parts // 10**8, parts // 10**4 % 10**4, parts % 10**4


def _days(
    order: str, a: NDArray[np.int64], b: NDArray[np.int64], c: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    year, month, day = {"dmy": (c, b, a), "mdy": (c, a, b), "ymd": (a, b, c)}[order]
    return days_of(np.where(year < 100, year + 2000, year), month, day)


def _order(
    a: NDArray[np.int64],
    b: NDArray[np.int64],
    c: NDArray[np.int64],
    day_first: bool | None,
    dotted: bool,
    where: str,
) -> Order:
    if day_first is not None:
        return Order("dmy" if day_first else "mdy", "as told")
    # A few torn cells must not decide for the whole column.
    most = max(1, len(a) // 100)
    day_leads, month_leads = int(np.sum(a > 12)), int(np.sum(b > 12))
    short_year = bool(np.all(c < 100))
    if not short_year or _steady(("ymd", "dmy"), a, b, c) != "ymd":
        if day_leads and (not month_leads or month_leads < min(day_leads, most)):
            return Order("dmy", f"{int(a.max())} can only be a day")
        if month_leads and (not day_leads or day_leads < min(month_leads, most)):
            return Order("mdy", f"{int(b.max())} can only be a day")
        if np.array_equal(a, b):
            return Order("dmy", "day and month are alike")
    steady = _steady(("dmy", "mdy", "ymd") if short_year else ("dmy", "mdy"), a, b, c)
    if steady:
        return Order(steady, "only so the days follow one another")
    if dotted and not month_leads:
        return Order("dmy", "written with points")
    found = f"{a[0]:02d}/{b[0]:02d}/{c[0]}"
    raise UnclearDatesError(
        "the dates may be day first or month first",
        where=where,
        found=found,
        mend="say --day-first or --month-first (day_first=True or False), or export ISO dates (2026-02-14)",
    )


def _steady(orders: tuple[str, ...], a: NDArray[np.int64], b: NDArray[np.int64], c: NDArray[np.int64]) -> str:
    """The one order in which the days follow one another closely while every other leaps by months."""
    widest: dict[str, int] = {}
    for order in orders:
        days, real = _days(order, a, b, c)
        steps = np.abs(np.diff(days))
        widest[order] = int(steps.max()) if len(steps) and real.all() else _FAR_DAYS + 1
        if not real.all():
            widest[order] = 10**6
    near = [order for order, step in widest.items() if 0 < step <= _NEAR_DAYS]
    others_far = all(step > _FAR_DAYS for order, step in widest.items() if order not in near)
    return near[0] if len(near) == 1 and others_far else ""
