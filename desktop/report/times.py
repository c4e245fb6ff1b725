"""Instants and spans as a report shows them, on the site's clock."""

from __future__ import annotations

from datetime import tzinfo

from desktop.words import Phrase, duration, local


def day_and_clock(instant: int, zone: tzinfo) -> str:
    """`2025-02-11 13:38:20`."""
    return local(instant, zone).strftime("%Y-%m-%d %H:%M:%S")


def day_and_minute(instant: int, zone: tzinfo) -> str:
    """`2025-02-11 13:38`, which no line break parts."""
    return local(instant, zone).strftime("%Y-%m-%d\u00a0%H:%M")


def minute(instant: int, zone: tzinfo) -> str:
    """`13:38`."""
    return local(instant, zone).strftime("%H:%M")


def span(start: int, end: int, zone: tzinfo) -> str:
    """`2025-02-11 13:10 to 14:10`; with both days where it runs over midnight."""
    first, last = local(start, zone), local(end, zone)
    until = "%H:%M" if first.date() == last.date() else "%Y-%m-%d %H:%M"
    return str(Phrase("{start} to {end}", start=first.strftime("%Y-%m-%d %H:%M"), end=last.strftime(until)))


def length(start: int, end: int) -> str:
    """How long a span is."""
    return duration((end - start) / 1e9)
