"""What draws a piece of a page: lines of text, rules and grounds, beside one another on the same piece."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QTextCharFormat, QTextLayout, QTextOption

from desktop.report.pages import Piece
from desktop.report.pdf.sheet import LEADING, POINT, font

Ink = Callable[[QPainter, float, float], None]
"""Draws a piece. Given the painter, the top of the piece, and the space above it that belongs to it."""

Bit = tuple[str, QFont, QColor]
"""A stretch of text in one hand."""

Pieces = list[Piece[Ink]]


class Lines:
    """Text broken into lines of a width.

    Each line is drawn by itself. `natural` and `least` are the widths that the text would have unbroken, and
    broken wherever it can be.
    """

    def __init__(
        self,
        bits: Sequence[Bit],
        width: float,
        align: Qt.AlignmentFlag = Qt.AlignmentFlag.AlignLeft,
        wrap: QTextOption.WrapMode = QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere,
    ) -> None:
        self._layout = QTextLayout("".join(text for text, _, _ in bits), bits[0][1])
        option = QTextOption(align)
        option.setWrapMode(wrap)
        self._layout.setTextOption(option)
        self._layout.setFormats(_formats(bits))
        self.leading = max(letters.pixelSize() for _, letters, _ in bits) * LEADING
        self._layout.beginLayout()
        while (line := self._layout.createLine()).isValid():
            line.setLineWidth(width)
        self._layout.endLayout()

    def __len__(self) -> int:
        return self._layout.lineCount()

    @property
    def height(self) -> float:
        """Of all lines."""
        return self.leading * len(self)

    @property
    def widest(self) -> float:
        """The widest line."""
        return max((self._layout.lineAt(row).naturalTextWidth() for row in range(len(self))), default=0.0)

    def draw(self, painter: QPainter, x: float, top: float, row: int) -> None:
        """Draw one line, its box's upper left corner at (x, top)."""
        line = self._layout.lineAt(row)
        line.draw(painter, QPointF(x, top + (self.leading - line.height()) / 2 - line.y()))

    def draw_all(self, painter: QPainter, x: float, top: float) -> None:
        """Draw all lines."""
        for row in range(len(self)):
            self.draw(painter, x, top + row * self.leading, row)


def _formats(bits: Sequence[Bit]) -> list[QTextLayout.FormatRange]:
    formats, start = [], 0
    for text, letters, colour in bits:
        each = QTextLayout.FormatRange()
        # Qt counts in UTF-16.
        each.start, each.length = start, len(text.encode("utf-16-le")) // 2
        each.format = QTextCharFormat()
        each.format.setFont(letters)
        each.format.setForeground(colour)
        formats.append(each)
        start += each.length
    return formats


def natural_width(text: str, letters: QFont, colour: QColor) -> float:
    """The width of a text on one line."""
    return Lines([(text, letters, colour)], 1e7).widest


def least_width(text: str, letters: QFont, colour: QColor) -> float:
    """The width of a text that is broken at every blank."""
    return Lines([(text, letters, colour)], 1.0, wrap=QTextOption.WrapMode.WordWrap).widest


def text_pieces(
    bits: Sequence[Bit],
    x: float,
    width: float,
    *,
    before: float = 0.0,
    keeps: bool = False,
    beside: Ink | None = None,
) -> Pieces:
    """A paragraph, a piece for each line; neither its first nor its last line stands alone on a page.

    keeps   True where what follows must stand on the same page as the last line
    beside  drawn with the first line
    """
    lines = Lines(bits, width)

    def ink(row: int) -> Ink:
        def draw(painter: QPainter, top: float, above: float) -> None:
            if beside is not None and row == 0:
                beside(painter, top, above)
            lines.draw(painter, x, top, row)

        return draw

    last = len(lines) - 1
    return [
        Piece(
            ink(row),
            lines.leading,
            before if row == 0 else 0.0,
            keeps if row == last else row in (0, last - 1),
        )
        for row in range(len(lines))
    ]


def with_bar(pieces: Pieces, x: float, colour: QColor, wide: float = 2.5 * POINT) -> Pieces:
    """Pieces with a bar beside them, from the first to the last, over the page's end."""

    def with_its_bar(ink: Ink, height: float, first: bool) -> Ink:
        def draw(painter: QPainter, top: float, above: float) -> None:
            above = 0.0 if first else above
            painter.fillRect(QRectF(x, top - above, wide, height + above), colour)
            ink(painter, top, above)

        return draw

    def barred(piece: Piece[Ink], first: bool) -> Piece[Ink]:
        head = None if piece.head is None else barred(piece.head, True)
        lower = piece.lower
        lowered = None if lower is None else lambda tall: with_its_bar(lower(tall), tall, first)
        ink = with_its_bar(piece.ink, piece.height, first)
        return replace(piece, ink=ink, head=head, lower=lowered)

    return [barred(piece, number == 0) for number, piece in enumerate(pieces)]


def text_ink(text: str, points: float, colour: QColor, x: float) -> Ink:
    """A short text on one line."""
    lines = Lines([(text, font(points), colour)], 1e7)
    return lambda painter, top, _: lines.draw(painter, x, top, 0)
