"""The usual cautions, of this plant: short, and deferring to those who are licensed."""

from __future__ import annotations

from collections.abc import Iterator

from desktop.cautions import (
    COME_FIRST,
    DIRECT_CURRENT,
    GENERATOR,
    LEAD_ACID,
    LITHIUM,
    NO_PROTECTION,
    QUALIFIED,
)
from desktop.charging.battery.chemistry import chemistry_of
from desktop.report.account import Account
from desktop.report.blocks import Items, Section
from desktop.review import Review
from desktop.words import tr


def cautions(account: Account) -> Section:
    """The cautions that fit the plant."""
    lines = tuple(("", tr(one)) for one in _lines(account.figures.recorded))
    return Section("cautions", tr("Cautions"), (Items(lines, whole=True),))


def _lines(review: Review) -> Iterator[str]:
    if _has(review, "generator"):
        yield from GENERATOR
    if _has(review, "battery"):
        kind = chemistry_of(review.site.battery)
        if kind is None or kind.lead_acid:
            yield LEAD_ACID
        if kind is None or not kind.lead_acid:
            yield LITHIUM
    if _has(review, "battery") or _has(review, "solar"):
        yield DIRECT_CURRENT
    yield from (QUALIFIED, NO_PROTECTION, COME_FIRST)


def _has(review: Review, part: str) -> bool:
    """True where the recording or the sheet tells of this part of the plant."""
    return review.site.given(part) or any(name.startswith(part) for name in review.recording.channels)
