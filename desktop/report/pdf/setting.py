"""Sets the blocks of a report: each becomes pieces of a page."""

from __future__ import annotations

from collections.abc import Iterator

from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from desktop.diagnosis.finding import Severity
from desktop.report.blocks import Block, Figure, Items, Marked, Page, Paragraph, Section, Table, Terms
from desktop.report.pages import Piece
from desktop.report.pdf.figures import figure_pieces
from desktop.report.pdf.ink import Bit, Ink, Lines, Pieces, text_ink, text_pieces, with_bar
from desktop.report.pdf.sheet import HEADING, POINT, SMALL, TEXT, TITLE, VERDICT, colour, font
from desktop.report.pdf.tables import table_pieces
from desktop.words import kept_together

_INDENT = 14.0 * POINT
_MARKED = 10.0 * POINT
_LINE_SHARE = 0.92
"""Lines of text are no longer than this share of the page: longer ones are hard to follow."""

_AFTER = {"plain": 5.0 * POINT, "small": 4.0 * POINT, "lead": 9.0 * POINT}
_SIZES = {"plain": TEXT, "small": SMALL, "lead": 11.5}


def page_pieces(page: Page, width: float) -> Pieces:
    """Everything that stands on the pages, in order."""
    pieces = [*_title(page, width), *_verdict(page, width)]
    for block in page.opening:
        pieces += block_pieces(block, 0.0, width)
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
    pieces = text_pieces(bits, 0.0, width, before=22 * POINT, keeps=True, beside=rule)
    for block in section.blocks:
        pieces += block_pieces(block, 0.0, width)
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
    for number, (label, text) in enumerate(block.items, start=1):
        sign = f"{number}." if block.ordered else "•"
        beside = text_ink(sign, TEXT, colour("text"), x + 2 * POINT)
        bits = _labelled(label, text, TEXT, colour("text"))
        yield from text_pieces(
            bits, x + _INDENT, _LINE_SHARE * width - _INDENT, before=3 * POINT, beside=beside
        )


def _terms(block: Terms, x: float, width: float) -> Iterator[Piece[Ink]]:
    for term, meaning in block.terms:
        bits = _labelled(f"{term}:", meaning, SMALL, colour("text"))
        yield from text_pieces(bits, x, _LINE_SHARE * width, before=4 * POINT)


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
    for each in block.inside:
        pieces += block_pieces(each, inside, width - _MARKED)
    first = pieces[0]
    pieces[0] = Piece(first.ink, first.height, 12 * POINT, True)
    return with_bar(pieces, x, ink)
