"""What the generator burnt, and what is left."""

from __future__ import annotations

import math

from desktop.charging.fuel.runs import Burnt
from desktop.charging.sessions import Session
from desktop.report.blocks import Block, Paragraph, Section, Table
from desktop.report.sections.course import MOST_LISTED, more
from desktop.report.times import day_and_minute
from desktop.review import Review
from desktop.review.fuel import fuel_text
from desktop.words import Phrase, decimal, duration, percent, tr


def fuel(review: Review) -> Section | None:
    """The fuel; None where nothing is known of it."""
    found = review.fuel
    told = fuel_text(found)
    if not told or found.curve is None:
        return None
    runs = [
        (session, burnt)
        for session, burnt in zip(review.sessions, found.sessions, strict=False)
        if burnt is not None and math.isfinite(burnt.amount)
    ]
    blocks: list[Block] = [Paragraph(line) for line in told]
    if runs:
        blocks += [_table(review, runs[:MOST_LISTED], found.curve.unit), *more(len(runs) - MOST_LISTED)]
    return Section("fuel", tr("Fuel"), tuple(blocks))


def _table(review: Review, runs: list[tuple[Session, Burnt]], unit: str) -> Table:
    costs = any(math.isfinite(burnt.cost) for _, burnt in runs)
    head = (
        tr("Session"),
        tr("Ran for"),
        str(Phrase("Fuel, {unit}", unit=unit)),
        tr("give or take"),
        str(Phrase("{unit} for each kWh", unit=unit)),
        tr("Mean load"),
        *((tr("Cost"),) if costs else ()),
    )
    rows = tuple(
        (
            day_and_minute(session.start, review.site.zone),
            duration(3600 * burnt.hours),
            *(decimal(value, 2) for value in (burnt.amount, burnt.sd, burnt.each_kwh)),
            percent(100 * burnt.load_share),
            *((decimal(burnt.cost, 2),) if costs else ()),
        )
        for session, burnt in runs
    )
    return Table(tr("What each session burnt"), head, rows, frozenset(range(1, len(head))))
