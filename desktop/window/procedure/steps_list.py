"""All steps of the procedure, one below another, by phase."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QPoint, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from desktop.procedure.course import Standing
from desktop.procedure.step import PHASES
from desktop.procedure.steps import ALWAYS
from desktop.window.parts.panel import Panel
from desktop.window.parts.scrolled import Scrolled
from desktop.window.parts.text import Text
from desktop.window.procedure.row import StepRow
from desktop.words import tr


class StepsList(Scrolled):
    """The rows by the keys of their steps.

    ticked  a person ticks a step, or takes the tick back (key)
    """

    ticked = Signal(str)

    def __init__(
        self,
        standing: Standing,
        times: Callable[[int], str],
        size: float = 1.0,
        parent: QWidget | None = None,
    ) -> None:
        self.rows: dict[str, StepRow] = {}
        self._standing = standing
        super().__init__(self._made(standing, times, size), tr("Steps of the procedure"), parent)
        for row in self.rows.values():
            row.asked.connect(self.ticked)

    def show_standing(self, standing: Standing, times: Callable[[int], str]) -> None:
        """Show how each stands."""
        self._standing = standing
        following = standing.next
        for state in standing.steps:
            key = state.step.key
            is_next = following is not None and key == following.step.key
            self.rows[key].show_state(state, times, standing.severity_of(state), is_next=is_next)

    def reveal(self, key: str, *, urgent: bool) -> None:
        """Scroll to a step. Who is at work on another that isn't done is left there, unless it is urgent."""
        row = self.rows.get(key)
        working = any(
            self.rows[each.step.key].box.hasFocus() for each in self._standing.steps if not each.done
        )
        if row is not None and (urgent or not working):
            self.ensureWidgetVisible(row, 8, 60)
            if row.height() > self.viewport().height():
                self.verticalScrollBar().setValue(row.mapTo(self.widget(), QPoint()).y())

    def _made(self, standing: Standing, times: Callable[[int], str], size: float) -> QWidget:
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(Text(str(ALWAYS), tone="muted", wrap=True, size=size))
        panels: dict[str, Panel] = {}
        for state in standing.steps:
            step = state.step
            if step.phase not in panels:
                panels[step.phase] = Panel(tr(PHASES[step.phase]))
                column.addWidget(panels[step.phase])
            row = self.rows[step.key] = StepRow(state, times, size)
            panels[step.phase].body.addWidget(row)
        return inside
