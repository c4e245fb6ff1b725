"""The comparison as a table: what was set otherwise, what changed, what became of findings, and what stayed."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QAccessible, QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QWidget

from desktop.comparison.comparison import Comparison
from desktop.comparison.table import ALWAYS, GROUPS, TableRow, table
from desktop.window.comparing.shift import ShiftMark, ShiftScale, scale_of
from desktop.window.parts.text import Text
from desktop.window.style import theme
from desktop.words import kept_together, tr

_NAME_LETTERS = 44
_NUMBERS = (1, 2, 3)
_STRIP, _BEHIND = 4, 6


class _Name(Text):
    """What a line is about: it wraps rather than take room from the changes."""

    def __init__(self, words: str, **look: object) -> None:
        super().__init__(words, wrap=True, **look)

    def sizeHint(self) -> QSize:
        """As wide as its words, and no wider than some."""
        metrics = self.fontMetrics()
        wide = min(metrics.horizontalAdvance(self.text()) + 2, metrics.averageCharWidth() * _NAME_LETTERS)
        return QSize(wide, self.heightForWidth(wide))

    def minimumSizeHint(self) -> QSize:
        """A few words' width, and no narrower than the longest."""
        metrics = self.fontMetrics()
        longest = max((metrics.horizontalAdvance(word) for word in self.text().split(" ")), default=0)
        return QSize(max(longest + 2, super().minimumSizeHint().width()), metrics.lineSpacing())


class ComparisonTable(QWidget):
    """A line for each setting, quantity and finding; their groups have headings."""

    spoken_role = QAccessible.Role.Table

    def __init__(self, found: Comparison) -> None:
        super().__init__()
        self.rows = table(found)
        self._scale = scale_of(row.shift for row in self.rows if row.shift is not None)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(18)
        self._grid.setVerticalSpacing(6)
        # What room is left stands behind: words and numbers that are far apart are hard to read.
        self._grid.setColumnStretch(_BEHIND, 1)
        self.setAccessibleName(tr("What changed"))
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        self.cells: list[list[QWidget]] = []
        self._lines = 0
        self._head()
        for group, title in GROUPS.items():
            mine = [row for row in self.rows if row.group == group]
            if mine or group in ALWAYS:
                self._title(tr(title))
                for row in mine:
                    self._row(row)
                if not mine:
                    self._grid.addWidget(Text(tr("none"), tone="muted"), self._next(), 0)

    def _next(self) -> int:
        self._lines += 1
        return self._lines - 1

    def _head(self) -> None:
        line = self._next()
        for column, words in enumerate((tr("Before"), tr("After"), tr("Change")), start=1):
            cell = Text(words, bold=True, tone="muted")
            self._grid.addWidget(
                cell, line, column, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom
            )
        self._ends = ShiftScale(self._scale)
        self._ends.setAccessibleName(tr("Change as a share of what there was before"))
        self._grid.addWidget(self._ends, line, _STRIP)

    def _title(self, words: str) -> None:
        line = self._next()
        title = _Name(words.upper(), size=0.92, bold=True, tone="muted")
        title.setContentsMargins(0, 8, 0, 0)
        self._grid.addWidget(title, line, 0, 1, _STRIP)

    def _row(self, row: TableRow) -> None:
        line = self._next()
        words = (row.label, row.a, row.b, row.change)
        cells: list[QWidget] = []
        for column, phrase in enumerate(words):
            if column not in _NUMBERS:
                cells.append(_Name(kept_together(str(phrase))))
                continue
            cell = Text(kept_together(str(phrase)), bold=column == _NUMBERS[-1] and row.changed)
            cell.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            cells.append(cell)
        if row.shift is not None:
            cells.append(ShiftMark(row.shift, row.changed, self._scale))
        else:
            cells.append(QWidget())
        cells.append(Text(str(row.verdict), bold=row.changed))
        for column, cell in enumerate(cells):
            self._grid.addWidget(cell, line, column)
        self.cells.append(cells)

    def paintEvent(self, event: QPaintEvent) -> None:
        """A line between rows, and one down the middle of the changes, where nothing changed."""
        painter = QPainter(self)
        tone = theme.colour("line")
        for cells in self.cells:
            bottom = max(cell.geometry().bottom() for cell in cells) + 3
            painter.fillRect(QRectF(0, bottom, self.width(), 1), tone)
        marks = [cells[_STRIP].geometry() for cells in self.cells if isinstance(cells[_STRIP], ShiftMark)]
        if marks and self._ends.has_room:
            top, bottom = min(box.top() for box in marks) - 3, max(box.bottom() for box in marks) + 3
            middle = self._ends.geometry().center().x()
            painter.fillRect(QRectF(middle, top, 1, bottom - top), theme.colour("strong_line"))
