"""How it went: the trends over the whole time, and each charge session."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from desktop.charging.sessions import Session
from desktop.report.blocks import Block, Paragraph, Section, Table
from desktop.report.pictures import Pictures
from desktop.report.sections.opening import Opening, usual_of
from desktop.report.times import day_and_minute, length
from desktop.review import Review
from desktop.words import NOT_KNOWN, Phrase, current, decimal, percent, template, tr

_MOST_PICTURES = 3
MOST_LISTED = 40
_PANES = ("power", "soc", "generator_frequency")

_ENDS = {
    "normal": template("unloaded first"),
    "under load": template("under load"),
    "dry tank": template("tank was dry"),
    "unclear": template("not clear"),
    "still running": template("still running"),
}


def course(review: Review, pictures: Pictures, opening: Opening) -> Section | None:
    """The course of a recording; None where there is too little of it."""
    if len(review) < 2:
        return None
    blocks = (*_trends(review, pictures), *_sessions(review), *_usual(review, pictures, opening))
    return Section("course", tr("How it went"), blocks)


def _trends(review: Review, pictures: Pictures) -> Iterator[Block]:
    wrong = any(one.kind == "power_unaccounted" for one in review.findings)
    panes = (*_PANES, "unaccounted") if wrong else _PANES
    caption = Phrase("All that was recorded. Battery power is above zero while it charges.")
    if review.findings:
        caption = Phrase(
            "All that was recorded. Battery power is above zero while it charges; what is tinted is a finding."
        )
    yield pictures.trends(panes, caption)


def _sessions(review: Review) -> Iterator[Block]:
    every = review.sessions
    if not every:
        yield Paragraph(tr("The generator carried no load in this recording."))
        return
    head = (
        tr("Start"),
        tr("Duration"),
        tr("Generator, kWh"),
        tr("To the house, kWh"),
        tr("To the battery, kWh"),
        tr("Lost, kWh"),
        tr("State of charge"),
        tr("Mean load"),
        tr("Highest input"),
        tr("How it stopped"),
    )
    rows = tuple(_row(review, one) for one in every[:MOST_LISTED])
    yield Table(tr("Charge sessions: while the generator carried load"), head, rows, frozenset(range(1, 9)))
    yield from more(len(every) - MOST_LISTED)


def more(count: int) -> Iterator[Block]:
    """What is left of a list that was cut; nothing where it wasn't."""
    if count > 0:
        yield Paragraph(str(Phrase("And {count:d} more.", count=count)), voice="small")


def _row(review: Review, session: Session) -> tuple[str, ...]:
    levels = "–"
    if math.isfinite(session.soc_start) and math.isfinite(session.soc_end):
        levels = f"{decimal(session.soc_start, 0)}\u00a0→\u00a0{percent(session.soc_end)}"
    return (
        day_and_minute(session.start, review.site.zone),
        length(session.start, session.end),
        *map(
            kilowatt_hours,
            (session.generator_wh, session.to_load_wh, session.to_battery_wh, session.losses_wh),
        ),
        levels,
        _or_dash(percent, 100 * session.mean_load_share),
        _or_dash(current, session.peak_input_a),
        tr(_ENDS[session.stop]),
    )


def kilowatt_hours(watt_hours: float) -> str:
    """`3.91`, for a column that tells the unit."""
    return tr(NOT_KNOWN) if math.isnan(watt_hours) else decimal(watt_hours / 1000, 2)


def _or_dash(told: Callable[[float], str], value: float) -> str:
    return told(value) if math.isfinite(value) else "–"


def _usual(review: Review, pictures: Pictures, opening: Opening) -> Iterator[Block]:
    ranked = sorted(review.sessions, key=lambda one: one.start - one.end)
    chosen = sorted(ranked[:_MOST_PICTURES], key=lambda one: one.start)
    yield from (usual_of(review, pictures, one) for one in chosen if one is not opening.session)
