"""Tables on PDF pages: rows are never cut, and the head is repeated where a page begins within a table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from PySide6.QtCore import QLineF, Qt
from PySide6.QtGui import QFont, QPainter, QPen

from desktop.report.blocks import Table
from desktop.report.pages import Piece
from desktop.report.pdf.ink import Ink, Lines, Pieces, least_width, natural_width, text_pieces
from desktop.report.pdf.sheet import DENSE, POINT, SMALL, SMALLEST, colour, font
from desktop.words import kept_together

_PAD, _BETWEEN, _DENSE_BETWEEN = 2.6 * POINT, 11.0 * POINT, 7.0 * POINT
_A_LITTLE = 0.1
"""Widths don't shrink quite as letters do."""

_THIN, _THICK = 0.5 * POINT, 1.0 * POINT


def table_pieces(table: Table, x: float, width: float) -> Pieces:
    """A caption, a head, and the rows."""
    rows = [tuple(map(kept_together, row)) for row in table.rows]
    points, widths = _fitting(table, rows, width)
    bits = [(kept_together(table.caption), font(SMALL), colour("muted"))]
    caption = text_pieces(bits, x, width, before=8 * POINT, keeps=True)
    caption = [Piece(each.ink, each.height, each.before, True) for each in caption]
    head = _row(table, table.head, widths, font(points, bold=True), x, _THICK, bottom=True)
    body = [
        _row(
            table,
            row,
            widths,
            font(points, bold=number >= len(rows) - table.totals),
            x,
            _THICK if number + 1 == len(rows) - table.totals else _THIN,
        )
        for number, row in enumerate(rows)
    ]
    last = len(body) - 1
    kept = [
        Piece(
            each.ink, each.height, keeps=number < last and (table.whole or number in (0, last - 1)), head=head
        )
        for number, each in enumerate(body)
    ]
    return [*caption, Piece(head.ink, head.height, 2 * POINT, keeps=bool(body)), *kept]


def column_widths(table: Table, rows: Sequence[Sequence[str]], width: float) -> list[float]:
    """As wide as the columns are by nature; where that is too much, narrower, down to their longest words.

    Where even those are too wide, letters get smaller first, and only then are words broken.
    """
    return _fitting(table, rows, width)[1]


def _fitting(table: Table, rows: Sequence[Sequence[str]], width: float) -> tuple[float, list[float]]:
    """The letters' size in points, and the columns' widths."""
    room = width - _between(table) * (len(table.head) - 1)
    points = DENSE if table.dense else SMALL
    widths = _widths(table, rows, points)
    if sum(widths.least) > room:
        points = max(SMALLEST, points * room / sum(widths.least) - _A_LITTLE)
        widths = _widths(table, rows, points)
    # Heads are broken before cells are, and cells before words.
    steps = (widths.natural, widths.cells, widths.least)
    if sum(widths.natural) <= room:
        return points, widths.natural
    for wider, narrower in pairwise(steps):
        if sum(narrower) <= room:
            share = (room - sum(narrower)) / (sum(wider) - sum(narrower))
            return points, [low + (high - low) * share for low, high in zip(narrower, wider, strict=True)]
    return points, [room * each / sum(widths.least) for each in widths.least]


@dataclass(frozen=True, slots=True)
class _Widths:
    """Of each column what it takes unbroken, with its head broken, and with all broken wherever they can be."""

    natural: list[float]
    cells: list[float]
    least: list[float]


def _widths(table: Table, rows: Sequence[Sequence[str]], points: float) -> _Widths:
    bold, ink = font(points, bold=True), colour("text")
    widths = _Widths([], [], [])
    for column, head in enumerate(table.head):
        texts = [row[column] for row in rows]
        least = max(least_width(head, bold, ink), *(least_width(text, bold, ink) for text in texts))
        cells = max(least, *(natural_width(text, bold, ink) for text in texts))
        widths.least.append(least)
        widths.cells.append(cells)
        widths.natural.append(max(cells, natural_width(head, bold, ink)))
    return widths


def _between(table: Table) -> float:
    return _DENSE_BETWEEN if table.dense else _BETWEEN


def _row(
    table: Table,
    cells: Sequence[str],
    widths: Sequence[float],
    letters: QFont,
    x: float,
    rule: float,
    *,
    bottom: bool = False,
) -> Piece[Ink]:
    """A row with a rule below it.

    bottom  True where short cells stand at the bottom
    """
    sides = [
        Qt.AlignmentFlag.AlignRight if column in table.numeric else Qt.AlignmentFlag.AlignLeft
        for column in range(len(cells))
    ]
    told = [
        Lines([(text, letters, colour("text"))], wide + 1.0, side)
        for text, wide, side in zip(cells, widths, sides, strict=True)
    ]
    inside = max(each.height for each in told)
    height = inside + 2 * _PAD
    places = [x + sum(widths[:column]) + _between(table) * column for column in range(len(widths))]
    end = places[-1] + widths[-1]

    def draw(painter: QPainter, top: float, _: float) -> None:
        for lines, place in zip(told, places, strict=True):
            lines.draw_all(painter, place, top + _PAD + (inside - lines.height if bottom else 0.0))
        painter.setPen(QPen(colour("strong_line" if rule > _THIN else "line"), rule))
        painter.drawLine(QLineF(x, top + height, end, top + height))

    return Piece(draw, height)
