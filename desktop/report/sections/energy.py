"""The energy books: how much there was of each, and from where it went whereto."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from desktop.charging.energy import Amount, Energy
from desktop.flow.streams import SINKS, SOURCES
from desktop.report.account import Account
from desktop.report.blocks import Block, Paragraph, Section, Table
from desktop.report.digits import spread, told
from desktop.report.sections.facts import doubted
from desktop.review.as_text import LEAST_S, LEAST_WH
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


def energy(account: Account) -> Section | None:
    """The energy tables; None where there are too few rows for any."""
    if len(account.review) < 2:
        return None
    books = account.review.energy
    blocks = (*_amounts(account, books), *_ways(account, books), *_unknown(books))
    return Section("energy", tr("Energy"), blocks)


def _amounts(account: Account, books: Energy) -> Iterator[Block]:
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
    rows = [(doubted(account, tr(name)), *_cells(books, amount)) for name, amount in worth]
    head: tuple[str, ...] = (tr("What"), tr("kWh"), tr("give or take"), tr("not known for"))
    if all(row[-1] == "–" for row in rows):
        head, rows = head[:-1], [row[:-1] for row in rows]
    caption = tr(
        "How much there was. Give or take: one standard deviation of the meters. The powers were made to agree "
        "before they were added up, so that what came in is what went out; unaccounted is what the meters "
        "themselves left over."
    )
    yield Table(account.noted(caption), head, tuple(rows), frozenset(range(1, len(head))))


def _cells(books: Energy, amount: Amount) -> tuple[str, ...]:
    missed = books.missed_s(amount)
    lost = duration(missed) if missed > LEAST_S else "–"
    if not books.covers(amount) or math.isnan(amount.wh):
        return tr(NOT_KNOWN), "–", lost
    return told(amount.wh / 1000, amount.sd / 1000), spread(amount.sd / 1000), lost


def _ways(account: Account, books: Energy) -> Iterator[Block]:
    table = books.table
    flows = np.where(np.isfinite(table), table, 0.0)
    rows = [row for row in range(len(SOURCES)) if flows[row].sum() >= LEAST_WH]
    columns = [column for column in range(len(SINKS)) if flows[rows, column].sum() >= LEAST_WH]
    if not rows:
        return
    known = [_spread_of(books, SOURCES[row]) for row in rows]
    body = [
        (
            doubted(account, tr(_SOURCES[SOURCES[row]])),
            *(_share(flow, sure) for flow in flows[row, columns]),
            _share(flows[row].sum(), sure),
        )
        for row, sure in zip(rows, known, strict=True)
    ]
    least = max(known, default=math.nan)
    sums = (
        tr("In all"),
        *(_share(flow, least) for flow in flows[:, columns].sum(axis=0)),
        _share(flows.sum(), least),
    )
    head = (tr("From"), *(tr(_SINKS[SINKS[column]]) for column in columns), tr("In all"))
    caption = tr(
        "Who fed whom, in kWh. Where several sources feed the same wires, each has its share in all that leaves "
        "them. Each number is rounded by itself; the last digits of a sum may be off by one."
    )
    yield Table(account.noted(caption), head, (*body, sums), frozenset(range(1, len(head))), totals=1)


def _spread_of(books: Energy, source: str) -> float:
    """How surely what a source gave is known, Wh."""
    amount = books.backward["battery"] if source == "battery" else books.forward[source]
    return amount.sd


def _share(watt_hours: float, sd: float) -> str:
    return told(float(watt_hours) / 1000, sd / 1000)


def _unknown(books: Energy) -> Iterator[Block]:
    if books.unknown_s > 0:
        lost = Phrase("For {lost:time} at least one of these is not known.", lost=books.unknown_s)
        yield Paragraph(str(lost), voice="small")
