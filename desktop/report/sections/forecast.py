"""What is forecast at the end of the recording, and what would have been forecast during it, against what came."""

from __future__ import annotations

import math
from datetime import tzinfo

from desktop.charging.forecast.forecast import Span
from desktop.report.account import Account
from desktop.report.blocks import Block, Paragraph, Section, Table
from desktop.report.times import day_and_minute, minute
from desktop.review.forecast import forecast_text
from desktop.review.foretold import Foretold, foretold
from desktop.words import Phrase, percent, tr

_MOST_ROWS = 24


def forecast(account: Account) -> Section | None:
    """The forecasts; None where there are none."""
    review = account.review
    if len(review) < 2:
        return None
    blocks: list[Block] = []
    told = forecast_text(review.forecast, review.site.zone)
    if review.forecast is not None and told:
        head = Phrase(
            "At the end of the recording, {time}:", time=minute(review.forecast.at, review.site.zone)
        )
        blocks.append(Paragraph(" ".join(told), str(head)))
    rows = tuple(_row(account, each) for each in foretold(review)[:_MOST_ROWS])
    if rows:
        head_row = (
            tr("Said at"),
            tr("Target"),
            tr("Expected at"),
            tr("Between"),
            tr("Reached at"),
        )
        caption = tr(
            "What would have been said at a quarter, half and three quarters of each session, and what came. In "
            "four of five cases it should come in between."
        )
        blocks.append(Table(account.noted(caption), head_row, rows))
    return Section("forecast", tr("Forecast"), tuple(blocks)) if blocks else None


def _row(account: Account, told: Foretold) -> tuple[str, ...]:
    zone, when = account.review.site.zone, told.when
    return (
        day_and_minute(told.at, zone),
        percent(told.soc),
        tr("perhaps not in this run") if when.at is None else minute(when.at, zone),
        between(when, zone),
        _ended(account, told.at) if told.came is None else minute(told.came, zone),
    )


def between(when: Span, zone: tzinfo) -> str:
    """From when to when it was to come, in words."""
    if when.low is None:
        return tr("not in this run")
    low = minute(when.low, zone)
    if when.high is None:
        return str(Phrase("{low} at the earliest; perhaps not in this run", low=low))
    return str(Phrase("{low} and {high}", low=low, high=minute(when.high, zone)))


def _ended(account: Account, at: int) -> str:
    """How the session that was under way came out, where it came to no target."""
    session = next((one for one in account.review.sessions if one.start <= at <= one.end), None)
    if session is None or not math.isfinite(session.soc_end):
        return tr("not in this session")
    return str(Phrase("it ended at {soc:%}", soc=session.soc_end))
