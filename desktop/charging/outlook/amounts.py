"""Amounts of an outlook as text, no finer than an outlook can tell them."""

from __future__ import annotations

import math

from desktop.charging.outlook.outcome import Spread
from desktop.words import Phrase, decimal, duration


def about_hours(hours: float) -> str:
    """`2 h 10 min`, `35 min`: to ten minutes from an hour on, to five below."""
    grain = 600 if hours >= 1 else 300
    return duration(round(hours * 3600 / grain) * grain) if hours * 3600 >= grain / 2 else duration(0)


def about(value: float) -> str:
    """Two significant digits below 10, whole numbers from there on."""
    return decimal(value, 0 if value >= 9.95 else 1)


def plain(value: float) -> str:
    """Three significant digits, without zeros at the end."""
    digits = 0 if value == 0 else max(0, 2 - math.floor(math.log10(abs(value))))
    rounded = f"{value:.{digits}f}"
    shorter = rounded.rstrip("0").rstrip(".") if "." in rounded else rounded
    return decimal(value, len(shorter.partition(".")[2]))


def amount(value: float, unit: str) -> str:
    """`3.9 L`."""
    return f"{about(value)} {unit}"


def days(value: float, horizon: int) -> str:
    """`21`; `over 60` where the fuel outlasts the days that were worked through."""
    return about(value) if math.isfinite(value) else str(Phrase("over {days:d}", days=horizon))


def days_range(spread: Spread, horizon: int) -> str:
    """`18 to 26`, `18 to over 60`."""
    low, high = days(spread.p10, horizon), days(spread.p90, horizon)
    return low if low == high else str(Phrase("{low} to {high}", low=low, high=high))


def clock(hour: float) -> str:
    """`07:30`; midnight at a day's end is `24:00`."""
    minutes = round(hour * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
