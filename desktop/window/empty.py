"""What the window shows while no recording is open: how to open one, and what there is to try."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout, QWidget

from desktop.opening import Demo
from desktop.window.page import Page
from desktop.window.text import Text
from desktop.words import tr


class EmptyPage(QScrollArea):
    """Open, drop, or try a demo.

    open_asked  the user wants to choose a file
    demo_asked  the user wants this demo (Demo)
    """

    open_asked = Signal()
    demo_asked = Signal(object)

    def __init__(self, demos: Sequence[Demo], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName(tr("No recording is open"))
        inside = Page()
        column = QVBoxLayout()
        column.setSpacing(12)
        column.addStretch(1)
        column.addWidget(Text(tr("No recording is open"), size=1.8, bold=True))
        how = tr(
            "Drop a log of your plant here: a CSV file with times and powers, of any make. Drop several of one "
            "site together to join them. A site sheet (.toml) of the same name beside it is read as well."
        )
        column.addWidget(Text(how, wrap=True))
        self.open = QPushButton(tr("Open a recording…"))
        self.open.clicked.connect(self.open_asked)
        column.addWidget(self.open, 0, Qt.AlignmentFlag.AlignLeft)
        self.demos: list[QPushButton] = []
        if demos:
            column.addSpacing(16)
            column.addWidget(Text(tr("Or try one of these"), bold=True, tone="muted"))
            column.addLayout(self._list(demos))
        column.addStretch(2)
        row = QHBoxLayout(inside)
        row.addStretch(1)
        row.addLayout(column, 8)
        row.addStretch(1)
        self.setWidget(inside)

    def _list(self, demos: Sequence[Demo]) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(10)
        grid.setColumnStretch(1, 1)
        for row, demo in enumerate(demos):
            button = QPushButton(tr(demo.title).replace("&", "&&"))
            button.setAccessibleDescription(tr(demo.look_for))
            button.clicked.connect(lambda _=False, demo=demo: self.demo_asked.emit(demo))
            self.demos.append(button)
            grid.addWidget(button, row, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(Text(tr(demo.look_for), tone="muted", wrap=True), row, 1)
        return grid
