"""A table of what was forecast during sessions that are over, beside what came."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout

from desktop.charging.forecast.phrases import clock_time
from desktop.review.foretold import Foretold, foretold, held_phrase
from desktop.window.evidence.page import head, lines, tabled
from desktop.window.opening import Ready
from desktop.window.parts.times import Times
from desktop.window.parts.word_table import WordTable
from desktop.words import Phrase, percent, template, tr

_MOST_ROWS = 24
_HEAD = (
    template("Said at"),
    template("Target"),
    template("Expected at"),
    template("Between"),
    template("Reached at"),
    template("Off by"),
)


def forecasts_against_outcome(column: QVBoxLayout, ready: Ready, times: Times) -> WordTable | None:
    """Put the table into a column, with rows marked in which the range didn't hold; None where nothing was said."""
    told = foretold(ready.review)
    if not told:
        return None
    column.addWidget(head(template("Forecast against outcome")))
    lines(
        column,
        [
            Phrase(
                "What would have been said at a quarter, half and three quarters of each session, and what came."
            ),
            held_phrase(told),
        ],
        "muted",
    )
    table = WordTable(tr("Forecast against outcome"))
    latest = told[-_MOST_ROWS:]
    missed = [row for row, each in enumerate(latest) if each.held is False]
    table.show_rows([tr(each) for each in _HEAD], [_row(each, times) for each in latest], (1, 5), missed)
    tabled(column, table)
    return table


def _row(told: Foretold, times: Times) -> list[str]:
    when = told.when

    def clock(instant: int | None, otherwise: str) -> str:
        return otherwise if instant is None else str(clock_time(instant, told.at, times.zone))

    never = tr("not at all")
    return [
        times(told.at, seconds=False),
        percent(told.soc),
        clock(when.at, never),
        str(Phrase("{low} and {high}", low=clock(when.low, never), high=clock(when.high, never))),
        clock(told.came, tr("session ended before") if told.held is None else tr("not in this session")),
        _off(told),
    ]


def _off(told: Foretold) -> str:
    """How far it was off, and a shape where it wasn't within the range: colour alone doesn't tell."""
    off = str(told.off)
    return f"◆ {off}".strip() if told.held is False else off
