"""What the window shows of a live system before there are readings enough to show."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from desktop.window.live import state_words
from desktop.window.live.watching import Watching, now_ns
from desktop.window.parts.text import Text
from desktop.words import tr


class FirstPage(QWidget):
    """Says what is being waited for."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(tr("Waiting for the first readings"))
        self.title = Text(tr("Waiting for the first readings"), size=1.8, bold=True, wrap=True)
        self.line = Text(wrap=True)
        self.more = Text(
            tr(
                "The picture comes with the second row of readings. Headrace reads and never writes to a device."
            ),
            tone="muted",
            wrap=True,
        )
        column = QVBoxLayout()
        column.setSpacing(12)
        column.addStretch(1)
        for part in (self.title, self.line, self.more):
            column.addWidget(part)
        column.addStretch(2)
        row = QHBoxLayout(self)
        row.addStretch(1)
        row.addLayout(column, 8)
        row.addStretch(1)
        self.title.setAlignment(Qt.AlignmentFlag.AlignLeft)

    def show_watching(self, watching: Watching) -> None:
        """How it is doing now."""
        state = watching.state
        if state is None:
            return
        ended = state.phase == "ended"
        self.title.show_text(tr("No readings came") if ended else tr("Waiting for the first readings"))
        told = state_words.state_text(state, watching.name, watching.why, now_ns())
        self.line.show_text(f"{state_words.phase_word(state.phase, False)}: {told}")
        self.more.setVisible(not ended)
