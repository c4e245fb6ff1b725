"""The button and menu that choose which curves a trend view shows."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QToolButton, QWidget

from desktop.picture.trends.source import Pane, Series
from desktop.words import Phrase, tr

_LEAST = 24


class CurveChooser(QToolButton):
    """A menu of curves, by pane. `chosen` is emitted with the keys of the curves that are to be shown."""

    chosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setText(tr("Curves"))
        self.setAccessibleName(tr("Choose curves"))
        self.setToolTip(tr("Choose which curves are shown"))
        self.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.setMinimumSize(_LEAST, _LEAST)
        self._menu = QMenu(self)
        self.setMenu(self._menu)
        self._actions: dict[str, QAction] = {}

    def offer(self, panes: Sequence[Pane], series: Sequence[Series], shown: frozenset[str]) -> None:
        """List these curves, those in `shown` checked."""
        if list(self._actions) != [each.key for pane in panes for each in series if each.pane == pane.key]:
            self._fill(panes, series)
        for key, action in self._actions.items():
            action.setChecked(key in shown)

    def _fill(self, panes: Sequence[Pane], series: Sequence[Series]) -> None:
        self._menu.clear()
        self._actions = {}
        for pane in panes:
            mine = [each for each in series if each.pane == pane.key]
            if not mine:
                continue
            self._menu.addSection(str(pane.title))
            for each in mine:
                label = (
                    Phrase("{curve}, metered", curve=each.label) if each.kind == "measured" else each.label
                )
                action = self._menu.addAction(str(label).replace("&", "&&"))
                action.setCheckable(True)
                action.triggered.connect(self._tell)
                self._actions[each.key] = action

    def _tell(self) -> None:
        self.chosen.emit(frozenset(key for key, action in self._actions.items() if action.isChecked()))
