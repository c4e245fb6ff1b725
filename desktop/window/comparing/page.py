"""A comparison to be read: the table, and what has to be known to read it rightly."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout, QWidget

from desktop.comparison.comparison import Comparison
from desktop.comparison.table import remarks
from desktop.window.comparing.table import ComparisonTable
from desktop.window.parts.panel import Panel
from desktop.window.parts.text import Text
from desktop.words import Phrase, kept_together, tr


class ComparisonPage(QWidget):
    """Shows one comparison.

    lent  the name of a recording that was read with the other one's site sheet; empty for none
    """

    def __init__(self, found: Comparison, lent: str = "") -> None:
        super().__init__()
        self.found = found
        self.table = ComparisonTable(found)
        framed = Panel(tr("What changed"))
        framed.body.addWidget(self.table)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(framed)
        told = [*remarks(found)]
        if lent:
            told.insert(
                0, Phrase("{name} has no site sheet of its own: it is read with the other one's.", name=lent)
            )
        told.append(
            Phrase(
                "The dots show each change as a share of what there was before, the bars two standard deviations: "
                "a bar that crosses the line is no more than chance."
            )
        )
        for each in told:
            column.addWidget(Text(kept_together(str(each)), wrap=True, tone="muted"))
        column.addStretch(1)
