"""Pictures on a PDF page: shapes by Qt's SVG, texts by our own hand, no wider than the picture has room for."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from PySide6.QtCore import QByteArray, QPointF, QRectF
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtSvg import QSvgRenderer

from desktop.report.blocks import Figure
from desktop.report.pages import Piece
from desktop.report.pdf.ink import Ink, Pieces, natural_width, text_pieces
from desktop.report.pdf.sheet import POINT, SMALL, colour, font
from desktop.words import kept_together, tr

_TEXT = re.compile(r"<text [^>]*>[^<]*</text>")
_HIGHEST, _TALLEST = 285.0 * POINT, 460.0 * POINT
_LEAST_SHARE = 0.6
"""A picture may be made as low as this share of its height, so that no page is left half empty."""

_PAD = 5.0 * POINT
_ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}


class _Picture:
    def __init__(self, svg: str) -> None:
        self._texts = [ElementTree.fromstring(each) for each in _TEXT.findall(svg)]
        # The renderer knows no widths of texts: where letters are wide, they would run into what is beside.
        self._shapes = QSvgRenderer(QByteArray(_TEXT.sub("", svg).encode()))
        self.size = self._shapes.viewBoxF().size()

    def draw(self, painter: QPainter, place: QRectF) -> None:
        painter.save()
        self._shapes.render(painter, place)
        painter.translate(place.topLeft())
        scale = place.width() / self.size.width()
        for each in self._texts:
            self._draw_text(painter, each, scale)
        painter.restore()

    def _draw_text(self, painter: QPainter, each: ElementTree.Element, scale: float) -> None:
        told, text = each.attrib, each.text or ""
        letters = font(float(told["font-size"]) * scale / POINT, told.get("font-weight") == "bold")
        room = float(told.get("textLength", "inf")) * scale
        wide = natural_width(text, letters, colour("text"))
        squeezed = min(1.0, room / wide) if wide else 1.0
        painter.save()
        painter.translate(float(told["x"]) * scale, float(told["y"]) * scale)
        painter.scale(squeezed, 1.0)
        painter.setFont(letters)
        painter.setPen(QColor(told["fill"]))
        painter.drawText(QPointF(-_ANCHORS[told.get("text-anchor", "start")] * wide, 0), text)
        painter.restore()


def figure_pieces(figure: Figure, x: float, width: float) -> Pieces:
    """A picture as wide as its place or as high as it may be, with its caption."""
    picture = _Picture(figure.svg)
    most = _TALLEST if figure.tall else _HIGHEST
    room = width - 2 * _PAD
    high = picture.size.height() * min(room / picture.size.width(), most / picture.size.height())

    def framed(tall: float) -> Ink:
        """The picture in its frame, which is so tall."""
        size = picture.size * ((tall - 2 * _PAD) / picture.size.height())

        def draw(painter: QPainter, top: float, _: float) -> None:
            box = QRectF(x, top, width, tall)
            painter.fillRect(box, colour("ground"))
            painter.setPen(QPen(colour("line"), 0.5 * POINT))
            painter.drawRect(box)
            left = x + (width - size.width()) / 2
            picture.draw(painter, QRectF(QPointF(left, top + _PAD), size))

        return draw

    name = tr("Figure")
    number = f"{name}\u00a0{figure.number}. "
    bits = [
        (number, font(SMALL, bold=True), colour("muted")),
        (kept_together(figure.caption), font(SMALL), colour("muted")),
    ]
    caption = text_pieces(bits, x, width, before=3 * POINT)
    together = [Piece(each.ink, each.height, each.before, each is not caption[-1]) for each in caption]
    tall = high + 2 * _PAD
    piece = Piece(
        framed(tall), tall, 9 * POINT, keeps=True, least=_LEAST_SHARE * high + 2 * _PAD, lower=framed
    )
    return [piece, *together]
