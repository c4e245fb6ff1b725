"""The energy books: how much there was of each, and from where it went whereto."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from desktop.charging.energy import Amount, Energy
from desktop.flow.streams import SINKS, SOURCES
from desktop.report.blocks import Block, Paragraph, Section, Table
from desktop.report.sections.course import kilowatt_hours
from desktop.review import Review
from desktop.review.as_text import LEAST_S, LEAST_WH, MOSTLY
from desktop.words import NOT_KNOWN, Phrase, duration, template, tr

_SOURCES = {
    "generator": template("Generator"),
    "grid": template("Grid"),
    "solar": template("Solar"),
    "solar_ac": template("Solar (AC)"),
    "battery": template("Battery"),
}
_SINKS = {
    "load": template("To the house"),
    "battery": template("To the battery"),
    "grid": template("To the grid"),
    "dc_load": template("To DC loads"),
    "losses": template("To losses"),
}


def energy(review: Review) -> Section | None:
    """The energy tables; None where there are too few rows for any."""
    if len(review) < 2:
        return None
    blocks = (*_trust(review), *_amounts(review.energy), *_ways(review.energy), *_unknown(review.energy))
    return Section("energy", tr("Energy"), blocks)


def _trust(review: Review) -> Iterator[Block]:
    share = review.balance.in_balance_share
    if math.isnan(share):
        yield Paragraph(tr("Whether the powers add up can't be checked: no power is metered twice."))
    elif share >= MOSTLY:
        agree = Phrase(
            "The meters agree with each other: the powers add up in {share:%} of the rows.", share=100 * share
        )
        yield Paragraph(str(agree))
    else:
        doubt = Phrase(
            "The meters contradict each other: the powers add up in {share:%} of the rows only.",
            share=100 * share,
        )
        yield Paragraph(str(doubt))


def _amounts(books: Energy) -> Iterator[Block]:
    every = (
        (template("Generator"), books.forward["generator"]),
        (template("From the grid"), books.forward["grid"]),
        (template("To the grid"), books.backward["grid"]),
        (template("Solar"), books.solar),
        (template("House loads"), books.forward["load"]),
        (template("DC loads"), books.forward["dc_load"]),
        (template("Into the battery"), books.forward["battery"]),
        (template("Out of the battery"), books.backward["battery"]),
        (template("Losses"), books.forward["loss"]),
        (template("Unaccounted"), books.unaccounted),
    )
    worth = [
        (name, amount) for name, amount in every if not (abs(amount.wh) < LEAST_WH and books.covers(amount))
    ]
    rows = tuple((tr(name), *_cells(books, amount)) for name, amount in worth)
    head = (tr("What"), tr("kWh"), tr("give or take"), tr("not known for"))
    caption = tr("How much there was. Give or take: one standard deviation of the meters.")
    yield Table(caption, head, rows, frozenset({1, 2, 3}))


def _cells(books: Energy, amount: Amount) -> tuple[str, str, str]:
    missed = books.missed_s(amount)
    lost = duration(missed) if missed > LEAST_S else "–"
    if not books.covers(amount) or math.isnan(amount.wh):
        return tr(NOT_KNOWN), "–", lost
    return kilowatt_hours(amount.wh), kilowatt_hours(amount.sd) if amount.sd > 0 else "–", lost


def _ways(books: Energy) -> Iterator[Block]:
    table = books.table
    told = np.where(np.isfinite(table), table, 0.0)
    rows = [row for row in range(len(SOURCES)) if told[row].sum() >= LEAST_WH]
    columns = [column for column in range(len(SINKS)) if told[rows, column].sum() >= LEAST_WH]
    if not rows:
        return
    body = [
        (
            tr(_SOURCES[SOURCES[row]]),
            *map(kilowatt_hours, told[row, columns]),
            kilowatt_hours(told[row].sum()),
        )
        for row in rows
    ]
    sums = (tr("In all"), *map(kilowatt_hours, told[:, columns].sum(axis=0)), kilowatt_hours(told.sum()))
    head = (tr("From"), *(tr(_SINKS[SINKS[column]]) for column in columns), tr("In all"))
    caption = tr("Who fed whom, in kWh. At each bus the sources share in what leaves it.")
    yield Table(caption, head, (*body, sums), frozenset(range(1, len(head))), totals=1)


def _unknown(books: Energy) -> Iterator[Block]:
    if books.unknown_s > 0:
        lost = Phrase("For {lost:time} at least one of these is not known.", lost=books.unknown_s)
        yield Paragraph(str(lost), voice="small")
