"""Panels of the window that a lesson points out: they are framed, and scrolled to where they are out of sight."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QRect, QTimer
from PySide6.QtWidgets import QWidget

from desktop.window.board.scrolling import reveal
from desktop.window.parts.panel import Panel

if TYPE_CHECKING:
    from desktop.window.board.board import Board

_SETTLED_MS = 400
"""What wraps its words needs some rounds until it has found its place."""


class PanelPointer(QObject):
    """Points at panels of a board."""

    def __init__(self, board: Board) -> None:
        super().__init__(board)
        self._panels: dict[str, Panel] = {
            "trends": board.trends.parentWidget(),
            "limits": board.limits,
            "session": board.session,
            "findings": board.findings,
        }
        self._sought: tuple[QWidget, ...] = ()
        self._settling = QTimer(self)
        self._settling.setInterval(_SETTLED_MS)
        self._settling.setSingleShot(True)
        for area in (board.right, board.instruments):
            area.verticalScrollBar().rangeChanged.connect(self._follow)

    def point_at(self, names: Iterable[str], sought: QWidget | None = None) -> None:
        """Point these out, and no others; names of parts of the diagram are left out.

        sought  what has to be in sight whatever else is pointed at
        """
        wanted = set(names)
        for name, panel in self._panels.items():
            panel.point_out(name in wanted)
        pointed = [panel for name, panel in self._panels.items() if name in wanted]
        self._sought = (*pointed, *([] if sought is None else [sought]))
        self._settling.start()
        QTimer.singleShot(0, self, self._reveal)

    def _follow(self) -> None:
        if self._settling.isActive():
            self._reveal()

    def _reveal(self) -> None:
        for widget in self._sought:
            # Where there is no room for the whole of it, its end is what can be pressed or read.
            reveal(widget, widget.rect())
            reveal(widget, QRect(0, widget.height() - 1, widget.width(), 1))
