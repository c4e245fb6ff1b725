"""What is forecast at the end of the recording, and what would have been forecast during it, against what came."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from desktop.charging.forecast.forecast import Forecast
from desktop.charging.sessions import Session
from desktop.report.blocks import Block, Paragraph, Section, Table
from desktop.report.times import day_and_minute, minute
from desktop.review import Review
from desktop.review.forecast import forecast_text
from desktop.words import Phrase, percent, tr

_MOST_ROWS = 24


def forecast(review: Review) -> Section | None:
    """The forecasts; None where there are none."""
    if len(review) < 2:
        return None
    blocks: list[Block] = []
    told = forecast_text(review.forecast, review.site.zone)
    if review.forecast is not None and told:
        head = Phrase(
            "At the end of the recording, {time}:", time=minute(review.forecast.at, review.site.zone)
        )
        blocks.append(Paragraph(" ".join(told), str(head)))
    rows = tuple(_rows(review))[:_MOST_ROWS]
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
        blocks.append(Table(caption, head_row, rows))
    return Section("forecast", tr("Forecast"), tuple(blocks)) if blocks else None


def _rows(review: Review) -> Iterator[tuple[str, ...]]:
    for session, said in zip(review.sessions, review.forecasts, strict=False):
        for one in said:
            if one is not None and one.targets:
                yield _row(review, session, one)


def _row(review: Review, session: Session, said: Forecast) -> tuple[str, ...]:
    zone, target = review.site.zone, said.targets[0]
    when = target.when
    low, at, high = (
        tr("not at all") if one is None else minute(one, zone) for one in (when.low, when.at, when.high)
    )
    came = _reached(review, session, said.at, target.soc)
    return (
        day_and_minute(said.at, zone),
        percent(target.soc),
        at,
        str(Phrase("{low} and {high}", low=low, high=high)),
        tr("not in this session") if came is None else minute(came, zone),
    )


def _reached(review: Review, session: Session, since: int, soc: float) -> int | None:
    """When the reported state of charge first stood at a target within a session, UTC nanoseconds."""
    recording = review.recording
    if "battery_soc" not in recording:
        return None
    first, stop = np.searchsorted(recording.time, (since, session.end), side="left")
    there = np.flatnonzero(recording.column("battery_soc")[first : stop + 1] >= soc)
    return int(recording.time[first + there[0]]) if there.size else None
