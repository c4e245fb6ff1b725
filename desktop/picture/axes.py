"""Where to put ticks, and what to write beside them: values on round steps, times on the site's clock."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo

from desktop.words import Phrase, decimal, local, template, tr

_SECOND = 1_000_000_000
_DAY_S = 86_400

_STEPS_S = (
    *(0.001, 0.01, 0.1, 0.5, 1, 2, 5, 10, 15, 30),
    *(60, 120, 300, 600, 900, 1800),
    *(3600, 7200, 10_800, 21_600, 43_200),
)
_STEPS_DAYS = (1, 2, 7)
_STEPS_MONTHS = (1, 3, 6, 12, 24, 60, 120)

_MONTHS = (
    template("Jan"),
    template("Feb"),
    template("Mar"),
    template("Apr"),
    template("May"),
    template("Jun"),
    template("Jul"),
    template("Aug"),
    template("Sep"),
    template("Oct"),
    template("Nov"),
    template("Dec"),
)

_CROWDED = 0.75
"""Ticks nearer than this share of a step are too near: a clock that was set makes such pairs."""


@dataclass(frozen=True, slots=True)
class Tick:
    """A place on a time axis (UTC nanoseconds) with its label; `strong` where a day, month or year begins."""

    at: int
    label: str
    strong: bool = False


def value_step(low: float, high: float, most: int) -> float:
    """The smallest of 1, 2, 5 times a power of ten that gives at most `most` steps from low to high."""
    span = (high - low) / max(1, most)
    if not (span > 0 and math.isfinite(span)):
        return 1.0
    power = 10.0 ** math.floor(math.log10(span))
    return next(factor * power for factor in (1, 2, 5, 10) if factor * power >= span * (1 - 1e-9))


def value_ticks(low: float, high: float, step: float) -> list[float]:
    """The multiples of a step within [low, high]."""
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [index * step for index in range(first, last + 1)]


def value_label(value: float, step: float) -> str:
    """A tick's value with as many decimals as the step needs, and a true minus sign."""
    return decimal(value, max(0, -math.floor(math.log10(step) + 1e-9)))


def time_ticks(start: int, stop: int, most: int, zone: tzinfo) -> list[Tick]:
    """Ticks on round times of the zone's clock within [start, stop] (UTC nanoseconds), about `most` at most.

    Where the clock is set forward or back, ticks stay on round times of the clock, and the first one after
    the change names the time that holds from there on.
    """
    if stop <= start:
        return []
    span = (stop - start) / _SECOND
    wanted = span / max(1, most)
    for step in _STEPS_S:
        if step >= wanted:
            return _clock_ticks(start, stop, round(step * _SECOND), zone)
    for days in _STEPS_DAYS:
        if days * _DAY_S >= wanted:
            return _day_ticks(start, stop, days, zone)
    months = next((m for m in _STEPS_MONTHS if m * 30.4 * _DAY_S >= wanted), _STEPS_MONTHS[-1])
    return _month_ticks(start, stop, months, zone)


def day_label(instant: int, zone: tzinfo) -> str:
    """`14 Feb 2026` at an instant (UTC nanoseconds)."""
    day = local(instant, zone)
    return str(
        Phrase("{day} {month} {year}", day=str(day.day), month=_MONTHS[day.month - 1], year=str(day.year))
    )


def _clock_ticks(start: int, stop: int, step: int, zone: tzinfo) -> list[Tick]:
    ticks: list[Tick] = []
    pieces = _offsets(start, stop, zone)
    for number, (begin, end, offset) in enumerate(pieces):
        first = -(-(begin + offset) // step) * step - offset
        if ticks and first - ticks[-1].at < _CROWDED * step:
            first += step
        for at in range(first, end if number + 1 < len(pieces) else end + 1, step):
            changed = number > 0 and at < first + step
            ticks.append(_clock_tick(at, step, zone, changed))
    return ticks


def _clock_tick(at: int, step: int, zone: tzinfo, changed: bool) -> Tick:
    clock = local(at // _SECOND * _SECOND, zone)
    if clock.hour == clock.minute == clock.second == 0 and at % _SECOND == 0:
        return Tick(at, _day_and_month(clock), strong=True)
    label = clock.strftime("%H:%M")
    if step < 60 * _SECOND:
        label = clock.strftime("%H:%M:%S")
    if step < _SECOND:
        digits = len(str(_SECOND // step)) - (1 if str(step).startswith("1") else 0)
        label += f".{at % _SECOND:09d}"[: digits + 1]
    return Tick(at, f"{label} {clock.tzname()}" if changed else label)


def _offsets(start: int, stop: int, zone: tzinfo) -> list[tuple[int, int, int]]:
    """The window cut where the zone's offset changes: begin, end, offset, all in nanoseconds."""
    pieces: list[tuple[int, int, int]] = []
    begin, offset = start, _offset(start, zone)
    probe = max(3600 * _SECOND, (stop - start) // 256)
    at = start
    while at < stop:
        following = min(stop, at + probe)
        if _offset(following, zone) != offset:
            change = _change(at, following, zone)
            pieces.append((begin, change, offset))
            begin, offset, following = change, _offset(change, zone), change
        at = following
    pieces.append((begin, stop, offset))
    return pieces


def _change(before: int, after: int, zone: tzinfo) -> int:
    """The whole second at which the offset stops being what it is at `before`."""
    old = _offset(before, zone)
    low, high = before // _SECOND, -(-after // _SECOND)
    while high - low > 1:
        middle = (low + high) // 2
        if _offset(middle * _SECOND, zone) == old:
            low = middle
        else:
            high = middle
    return high * _SECOND


def _offset(instant: int, zone: tzinfo) -> int:
    shift = datetime.fromtimestamp(instant // _SECOND, UTC).astimezone(zone).utcoffset()
    return 0 if shift is None else round(shift.total_seconds()) * _SECOND


def _day_ticks(start: int, stop: int, days: int, zone: tzinfo) -> list[Tick]:
    day, last = local(start, zone).date(), local(stop, zone).date()
    ticks = []
    while day <= last:
        # Ordinal 1 was a Monday: weeks begin there.
        if (day.toordinal() - 1) % days == 0:
            at = _midnight(day, zone)
            if start <= at <= stop:
                ticks.append(Tick(at, _day_and_month(day), strong=day.day == 1))
        day += timedelta(days=1)
    return ticks


def _month_ticks(start: int, stop: int, months: int, zone: tzinfo) -> list[Tick]:
    begin, end = local(start, zone), local(stop, zone)
    ticks = []
    for number in range(begin.year * 12 + begin.month - 1, end.year * 12 + end.month):
        if number % months:
            continue
        day = date(number // 12, number % 12 + 1, 1)
        at = _midnight(day, zone)
        if start <= at <= stop:
            label = str(day.year) if day.month == 1 else tr(_MONTHS[day.month - 1])
            ticks.append(Tick(at, label, strong=day.month == 1))
    return ticks


def _midnight(day: date, zone: tzinfo) -> int:
    stamp = datetime(day.year, day.month, day.day, tzinfo=zone).timestamp()
    return round(stamp) * _SECOND


def _day_and_month(day: date) -> str:
    return str(Phrase("{day} {month}", day=str(day.day), month=_MONTHS[day.month - 1]))
