"""A table of words and numbers, as large as they need; rows that matter most have a ground of their own."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QAccessible, QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QWidget

from desktop.window.parts.text import Text
from desktop.window.style import theme

Cells = Sequence[str]

_LONG = 9


class WordTable(QWidget):
    """Shows rows of cells below a head. Cells of `numbers` columns stand at the right."""

    spoken_role = QAccessible.Role.Table

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self._shown: tuple[object, ...] = ()
        self._marked: frozenset[int] = frozenset()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(6, 2, 6, 2)
        self._grid.setHorizontalSpacing(18)
        self._grid.setVerticalSpacing(6)
        self.cells: list[list[Text]] = []

    def show_rows(
        self,
        head: Cells,
        rows: Sequence[Cells],
        numbers: Collection[int] = (),
        marked: Collection[int] = (),
    ) -> None:
        """Show these; `marked` are rows."""
        wanted = (tuple(head), tuple(map(tuple, rows)), frozenset(numbers), frozenset(marked))
        if wanted == self._shown:
            return
        self._shown, self._marked = wanted, frozenset(marked)
        for line in self.cells:
            for cell in line:
                self._grid.removeWidget(cell)
                cell.hide()
                cell.deleteLater()
        lines = [
            (list(map(_in_two, head)), False, "muted"),
            *((row, number in marked, "text") for number, row in enumerate(rows)),
        ]
        self.cells = [
            self._line(row, cells, bold, tone, numbers) for row, (cells, bold, tone) in enumerate(lines)
        ]
        self.updateGeometry()
        self.update()

    def _line(self, row: int, cells: Cells, bold: bool, tone: str, numbers: Collection[int]) -> list[Text]:
        line = []
        for column, words in enumerate(cells):
            cell = Text(words, bold=bold or row == 0, tone=tone)
            side = Qt.AlignmentFlag.AlignRight if column in numbers else Qt.AlignmentFlag.AlignLeft
            cell.setAlignment(side | Qt.AlignmentFlag.AlignVCenter)
            self._grid.addWidget(cell, row, column)
            line.append(cell)
        return line

    def paintEvent(self, event: QPaintEvent) -> None:
        """The grounds of marked rows, and a line between rows."""
        painter = QPainter(self)
        for row, line in enumerate(self.cells):
            if not line:
                continue
            box = line[0].geometry()
            for cell in line[1:]:
                box = box.united(cell.geometry())
            band = QRectF(0, box.top() - 3, self.width(), box.height() + 6)
            if row - 1 in self._marked:
                painter.fillRect(band, theme.colour("selected"))
            painter.fillRect(QRectF(0, band.bottom() - 1, self.width(), 1), theme.colour("line"))


def _in_two(head: str) -> str:
    """A long head on two lines, broken where they come out most alike."""
    places = [place for place, letter in enumerate(head) if letter == " "]
    if len(head) <= _LONG or not places:
        return head
    middle = min(places, key=lambda place: abs(2 * place + 1 - len(head)))
    return f"{head[:middle]}\n{head[middle + 1 :]}"
