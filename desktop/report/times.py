"""Instants and spans as a report shows them, on the site's clock and in the language's own form of a date."""

from __future__ import annotations

from datetime import datetime, tzinfo

from desktop.words import DATE_FORM, Phrase, duration, local, tr


def date(day: datetime) -> str:
    """`2025-02-11`."""
    return day.strftime(tr(DATE_FORM))


def day_and_clock(instant: int, zone: tzinfo) -> str:
    """`2025-02-11 13:38:20`."""
    at = local(instant, zone)
    return f"{date(at)} {at:%H:%M:%S}"


def day_and_minute(instant: int, zone: tzinfo) -> str:
    """`2025-02-11 13:38`, which no line break parts."""
    at = local(instant, zone)
    return f"{date(at)}\u00a0{at:%H:%M}"


def minute(instant: int, zone: tzinfo) -> str:
    """`13:38`."""
    return local(instant, zone).strftime("%H:%M")


def span(start: int, end: int, zone: tzinfo) -> str:
    """`2025-02-11 13:10 to 14:10`; with both days where it runs over midnight."""
    first, last = local(start, zone), local(end, zone)
    until = f"{last:%H:%M}" if first.date() == last.date() else f"{date(last)} {last:%H:%M}"
    return str(Phrase("{start} to {end}", start=f"{date(first)} {first:%H:%M}", end=until))


def length(start: int, end: int) -> str:
    """How long a span is."""
    return duration((end - start) / 1e9)


def reading_rate(interval_s: float) -> str:
    """`one reading a second`."""
    if round(interval_s, 3) == 1.0:
        return tr("one reading a second")
    if round(interval_s, 3) == 60.0:
        return tr("one reading a minute")
    return str(Phrase("one reading every {interval:time}", interval=interval_s))
