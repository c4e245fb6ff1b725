"""What the window shows while no recording is open: how to open one, and what there is to try."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout, QWidget

from desktop.opening import Demo
from desktop.window.parts.page import Page
from desktop.window.parts.text import Text
from desktop.words import tr

_LINE = 40
"""Characters: what a demo is about stands beside its name where lines of this length have room."""
_SHARE = 0.75


class EmptyPage(QScrollArea):
    """Open, connect, drop, or try a demo.

    open_asked     the user wants to choose a file
    connect_asked  the user wants to watch a live system
    demo_asked     the user wants this demo (Demo)
    """

    open_asked = Signal()
    connect_asked = Signal()
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
        column.addSpacing(8)
        live = tr(
            "Or watch a live system: devices that speak Modbus over the network or a serial port, or that print "
            "lines on one. Headrace reads and never writes to them."
        )
        column.addWidget(Text(live, wrap=True))
        self.connect_button = QPushButton(tr("Connect…"))
        self.connect_button.clicked.connect(self.connect_asked)
        column.addWidget(self.connect_button, 0, Qt.AlignmentFlag.AlignLeft)
        self.demos: list[QPushButton] = []
        self._told: list[Text] = []
        self._narrow: bool | None = None
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

    def resizeEvent(self, event: QResizeEvent) -> None:
        """What there is to look for stands beside a demo's name where there is room, else below it."""
        super().resizeEvent(event)
        self._arrange()

    def _list(self, demos: Sequence[Demo]) -> QGridLayout:
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(16)
        self._grid.setVerticalSpacing(10)
        self._grid.setColumnStretch(1, 1)
        for demo in demos:
            button = QPushButton(tr(demo.title).replace("&", "&&"))
            button.setAccessibleDescription(tr(demo.look_for))
            button.clicked.connect(lambda _=False, demo=demo: self.demo_asked.emit(demo))
            self.demos.append(button)
            self._told.append(Text(tr(demo.look_for), tone="muted", wrap=True))
        self._arrange()
        return self._grid

    def _arrange(self) -> None:
        names = max((button.sizeHint().width() for button in self.demos), default=0)
        words = self.fontMetrics().averageCharWidth() * _LINE
        narrow = names + words > _SHARE * self.viewport().width()
        if narrow == self._narrow:
            return
        self._narrow = narrow
        for row, parts in enumerate(zip(self.demos, self._told, strict=True)):
            button, told = parts
            side = Qt.AlignmentFlag.AlignLeft if narrow else Qt.AlignmentFlag(0)
            self._grid.addWidget(button, 2 * row, 0, side | Qt.AlignmentFlag.AlignTop)
            self._grid.addWidget(told, 2 * row + narrow, 0 if narrow else 1, 1, 2 if narrow else 1)
