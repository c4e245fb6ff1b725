"""What the recording tells of the battery."""

from __future__ import annotations

from desktop.report.blocks import Items, Section
from desktop.review import Review
from desktop.review.battery import battery_text
from desktop.words import tr


def battery(review: Review) -> Section | None:
    """The battery; None where nothing is known of it."""
    told = battery_text(review.battery)
    if not told:
        return None
    return Section("battery", tr("Battery"), (Items(tuple(("", line) for line in told)),))
