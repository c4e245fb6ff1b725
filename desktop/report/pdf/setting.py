"""Sets the blocks of a report: each becomes pieces of a page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from desktop.diagnosis.finding import Severity
from desktop.report.blocks import Block, Facts, Figure, Items, Marked, Page, Paragraph, Section, Table, Terms
from desktop.report.pages import Piece
from desktop.report.pdf.figures import figure_pieces
from desktop.report.pdf.ink import Bit, Ink, Lines, Pieces, text_ink, text_pieces, with_bar
from desktop.report.pdf.sheet import FACT, HEADING, POINT, SMALL, TEXT, TITLE, VERDICT, colour, font
from desktop.report.pdf.tables import table_pieces
from desktop.words import kept_together

_INDENT = 14.0 * POINT
_MARKED = 10.0 * POINT
_GUTTER = 18.0 * POINT
_LINE_SHARE = 0.92
"""Lines of text are no longer than this share of the page: longer ones are hard to follow."""

_FEW_LINES = 6
_LED_UP_TO = (Items, Facts, Table, Figure)

_AFTER = {"plain": 5.0 * POINT, "small": 4.0 * POINT, "lead": 9.0 * POINT}
_SIZES = {"plain": TEXT, "small": SMALL, "lead": 11.5}


def page_pieces(page: Page, width: float) -> Pieces:
    """Everything that stands on the pages, in order."""
    pieces = [*_title(page, width), *_verdict(page, width), *_stacked(page.opening, 0.0, width)]
    for section in page.sections:
        pieces += _section(section, width)
    return pieces


def block_pieces(block: Block, x: float, width: float) -> Pieces:
    """One block in a place of a width."""
    match block:
        case Paragraph():
            return _paragraph(block, x, width)
        case Items():
            return list(_items(block, x, width))
        case Facts():
            return _facts(block, x, width)
        case Table():
            return table_pieces(block, x, width)
        case Figure():
            return figure_pieces(block, x, width)
        case Terms():
            return list(_terms(block, x, width))
        case Marked():
            return _marked(block, x, width)


def _title(page: Page, width: float) -> Pieces:
    title = text_pieces([(page.title, font(TITLE, bold=True), colour("text"))], 0.0, width, keeps=True)
    told = [(kept_together(page.subtitle), font(SMALL), colour("muted"))]
    return [*title, *text_pieces(told, 0.0, width, before=2 * POINT, keeps=True)]


def _verdict(page: Page, width: float) -> Pieces:
    """The verdict in a box, with its mark and a bar in its colour."""
    edge = colour(page.severity) if page.severity else colour("strong_line")
    letters = font(VERDICT, bold=True)
    pad = 8 * POINT
    left = pad + 4 * POINT + (VERDICT * POINT * 1.3 if page.severity else 0.0)
    lines = Lines([(kept_together(page.verdict), letters, colour("text"))], width - left - pad)
    height = lines.height + 2 * pad

    def draw(painter: QPainter, top: float, _: float) -> None:
        box = QRectF(0.0, top, width, height)
        painter.fillRect(box, colour("ground"))
        painter.setPen(QPen(colour("line"), 0.5 * POINT))
        painter.drawRect(box)
        painter.fillRect(QRectF(0.0, top, 4 * POINT, height), edge)
        if page.severity:
            middle = QPointF(left - VERDICT * POINT * 0.75, top + pad + lines.leading / 2)
            draw_mark(painter, middle, 0.8 * VERDICT * POINT, page.severity)
        lines.draw_all(painter, left, top + pad)

    return [Piece(draw, height, 10 * POINT)]


def draw_mark(painter: QPainter, middle: QPointF, size: float, severity: Severity) -> None:
    """A triangle, a diamond or a ring, as in every picture."""
    x, y, half = middle.x(), middle.y(), size / 2
    painter.save()
    painter.setPen(QPen(colour(severity), 0.0))
    painter.setBrush(colour(severity))
    if severity == "act now":
        corners = [QPointF(x, y - half), QPointF(x + half, y + half), QPointF(x - half, y + half)]
        painter.drawPolygon(QPolygonF(corners))
    elif severity == "attend":
        diamond = [(x, y - half), (x + half, y), (x, y + half), (x - half, y)]
        painter.drawPolygon(QPolygonF([QPointF(*corner) for corner in diamond]))
    else:
        painter.setBrush(QColor(0, 0, 0, 0))
        painter.setPen(QPen(colour(severity), 0.2 * size))
        painter.drawEllipse(middle, 0.75 * half, 0.75 * half)
    painter.restore()


def _section(section: Section, width: float) -> Pieces:
    def rule(painter: QPainter, top: float, above: float) -> None:
        if above:
            y = top - 6 * POINT
            painter.setPen(QPen(colour("strong_line"), 0.8 * POINT))
            painter.drawLine(QLineF(0.0, y, width, y))

    bits = [(section.title, font(HEADING, bold=True), colour("text"))]
    pieces = text_pieces(bits, 0.0, width, before=19 * POINT, keeps=True, beside=rule)
    return [*pieces, *_stacked(section.blocks, 0.0, width)]


def _stacked(blocks: Sequence[Block], x: float, width: float) -> Pieces:
    """Blocks one below the other. What leads up to a table, a list or a picture stands on the same page."""
    pieces: Pieces = []
    for number, block in enumerate(blocks):
        mine = block_pieces(block, x, width)
        follows = blocks[number + 1] if number + 1 < len(blocks) else None
        if isinstance(block, Paragraph) and isinstance(follows, _LED_UP_TO) and len(mine) <= _FEW_LINES:
            mine = [replace(each, keeps=True) for each in mine]
        pieces += mine
    return pieces


def _paragraph(block: Paragraph, x: float, width: float) -> Pieces:
    size = _SIZES[block.voice]
    bits = _labelled(block.label, block.text, size, colour("muted" if block.voice == "small" else "text"))
    before, lead = _AFTER[block.voice], block.voice == "lead"
    return text_pieces(bits, x, _LINE_SHARE * width, before=before, keeps=lead) if bits else []


def _labelled(label: str, text: str, size: float, ink: QColor) -> list[Bit]:
    bits: list[Bit] = []
    if label:
        bits.append((f"{kept_together(label)}{' ' if text else ''}", font(size, bold=True), ink))
    if text:
        bits.append((kept_together(text), font(size), ink))
    return bits


def _items(block: Items, x: float, width: float) -> Iterator[Piece[Ink]]:
    last = len(block.items)
    for number, (label, text) in enumerate(block.items, start=1):
        sign = f"{number}." if block.ordered else "•"
        size = SMALL if block.small else TEXT
        beside = text_ink(sign, size, colour("text"), x + 2 * POINT)
        bits = _labelled(label, text, size, colour("text"))
        pieces = text_pieces(
            bits, x + _INDENT, _LINE_SHARE * width - _INDENT, before=3 * POINT, beside=beside
        )
        if block.whole:
            pieces = [replace(each, keeps=True) for each in pieces]
        if number == last:
            pieces[-1] = replace(pieces[-1], keeps=False)
        yield from pieces


def _facts(block: Facts, x: float, width: float) -> Pieces:
    """Numbers side by side, each above what it is."""
    count = len(block.facts)
    wide = (width - (count - 1) * _INDENT) / count
    told = [
        (
            Lines([(kept_together(number), font(FACT, bold=True), colour("text"))], wide),
            Lines([(what, font(SMALL), colour("muted"))], wide),
        )
        for number, what in block.facts
    ]
    above, below = (max(each[row].height for each in told) for row in (0, 1))
    pad = 5 * POINT
    height = above + below + 2 * pad

    def draw(painter: QPainter, top: float, _: float) -> None:
        painter.setPen(QPen(colour("line"), 0.5 * POINT))
        painter.drawLine(QLineF(x, top, x + width, top))
        painter.drawLine(QLineF(x, top + height, x + width, top + height))
        for column, (number, what) in enumerate(told):
            left = x + column * (wide + _INDENT)
            number.draw_all(painter, left, top + pad + above - number.height)
            what.draw_all(painter, left, top + pad + above)

    return [Piece(draw, height, 9 * POINT)]


def _terms(block: Terms, x: float, width: float) -> Iterator[Piece[Ink]]:
    """Two beside each other: the order holds where a page ends between them."""
    wide = (width - _GUTTER) / 2
    told = [
        Lines(_labelled(f"{term}:", meaning, SMALL, colour("text")), wide) for term, meaning in block.terms
    ]
    for row in range(0, len(told), 2):
        pair = told[row : row + 2]
        yield Piece(_beside_one_another(pair, x, wide), max(each.height for each in pair), 4 * POINT)


def _beside_one_another(pair: Sequence[Lines], x: float, wide: float) -> Ink:
    def draw(painter: QPainter, top: float, _: float) -> None:
        for column, lines in enumerate(pair):
            lines.draw_all(painter, x + column * (wide + _GUTTER), top)

    return draw


def _marked(block: Marked, x: float, width: float) -> Pieces:
    inside = x + _MARKED
    ink, size = colour(block.severity), TEXT * POINT
    shift = 1.2 * size

    def mark(painter: QPainter, top: float, _: float) -> None:
        draw_mark(painter, QPointF(inside + 0.42 * size, top + 0.68 * size), 0.8 * size, block.severity)

    head: list[Bit] = [
        (f"{block.word}: ", font(TEXT), ink),
        (kept_together(block.title), font(TEXT, bold=True), colour("text")),
    ]
    pieces = text_pieces(head, inside + shift, width - _MARKED - shift, keeps=True, beside=mark)
    when = [(kept_together(block.when), font(SMALL), colour("muted"))]
    if block.when:
        pieces += text_pieces(when, inside, width - _MARKED, before=1 * POINT, keeps=True)
    pieces += _stacked(block.inside, inside, width - _MARKED)
    pieces[0] = replace(pieces[0], before=12 * POINT, keeps=True)
    return with_bar(pieces, x, ink)
