"""What every page has in common: its content is made anew only when there is something else to say."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from desktop.window.opening import Ready
from desktop.window.parts.panel import Panel
from desktop.window.parts.sideways import Sideways
from desktop.window.parts.text import Text
from desktop.window.parts.times import Times
from desktop.window.parts.word_table import WordTable
from desktop.words import Phrase, kept_together, tr

BEING_LOOKED_INTO = Phrase("This is being looked into…")

OVERHANG = 2
"""Pixels by which a letter such as J may stand out to the left of where its line begins."""


class LookPage(QWidget):
    """One page.

    moved   the user wants to go to an instant (int, UTC nanoseconds)
    opened  the user wants another page (its key)
    """

    moved = Signal(object)
    opened = Signal(str)
    needs: tuple[str, ...] = ()
    """The judgements, of `beforehand.JUDGEMENTS`, that it shows."""

    def __init__(self, title: str) -> None:
        super().__init__()
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 8)
        self.column.setSpacing(10)
        self.column.addWidget(Text(tr(title), size=1.25, bold=True))
        self.ready: Ready | None = None
        self.times = Times()
        self._said: object = None
        self._content = QWidget()
        self.column.addWidget(self._content)
        self.column.addStretch(1)

    def show_ready(self, ready: Ready, times: Times) -> None:
        """Show what a review says; what it said already stays as it is."""
        self.ready, self.times = ready, times
        said = self.said(ready)
        if said != self._said:
            self._said = said
            self.make()

    def wait(self) -> None:
        """What the page shows isn't known yet."""
        if self._said is not self:
            self.ready, self._said = None, self
            self.make()

    def end_work(self) -> None:
        """The page is seen no more: what is done beside for it comes to an end."""

    def attention(self) -> int:
        """How many things on the page want somebody's attention."""
        return 0

    def said(self, ready: Ready) -> object:
        """All that the page shows, to be compared with what it showed before."""
        raise NotImplementedError

    def fill(self, column: QVBoxLayout, ready: Ready) -> None:
        """Put what there is to say into an empty column."""
        raise NotImplementedError

    def make(self) -> None:
        """Make the content anew."""
        content = QWidget()
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(10)
        if self.ready is not None:
            self.fill(column, self.ready)
        elif self._said is self:
            lines(column, [BEING_LOOKED_INTO], "muted")
        place = self.column.indexOf(self._content)
        self.column.removeWidget(self._content)
        self._content.hide()
        self._content.deleteLater()
        self._content = content
        self.column.insertWidget(place, content)


def head(words: str) -> Text:
    """A heading within a page."""
    return Text(tr(words).upper(), size=0.92, bold=True, tone="muted")


def lines(column: QVBoxLayout, told: Iterable[object], tone: str = "text") -> None:
    """Sentences, each on lines of its own."""
    for each in told:
        if str(each):
            text = Text(kept_together(str(each)), wrap=True, tone=tone)
            text.setIndent(OVERHANG)
            column.addWidget(text)


def framed(widget: QWidget) -> Panel:
    """In a quiet frame."""
    panel = Panel("")
    panel.body.addWidget(widget)
    return panel


def way(page: LookPage, words: str, key: str) -> QPushButton:
    """A button that leads to another page."""
    button = QPushButton(tr(words))
    button.clicked.connect(lambda: page.opened.emit(key))
    return button


def tabled(column: QVBoxLayout, table: WordTable) -> None:
    """A table, scrolled sideways where it is wider than the page."""
    column.addWidget(Sideways(table, table.accessibleName()))


def at_left(column: QVBoxLayout, widget: QWidget) -> None:
    """No wider than it has to be."""
    column.addWidget(widget, 0, Qt.AlignmentFlag.AlignLeft)
