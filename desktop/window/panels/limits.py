"""The limits: each a label, a bullet graph, the value, and what it is held against."""

from __future__ import annotations

import math

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QWidget

from desktop.review.moment import LimitNow, Moment
from desktop.window.parts.bullet import ELECTRICAL, Bullet, severity_of
from desktop.window.parts.panel import Panel
from desktop.window.parts.text import Text
from desktop.window.style.look import look
from desktop.words import Phrase, tr

_GAP = 10
_GRAPH = 90


class LimitsPanel(Panel):
    """One row for each limit of a moment; two lines to a row where it is narrow."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(tr("Limits"), parent)
        self.rows: list[LimitRow] = []
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(_GAP)
        self._grid.setVerticalSpacing(5)
        self._grid.setColumnStretch(1, 1)
        self._none = Text(tr("The site sheet states no limits."), tone="muted", wrap=True)
        self.body.addWidget(self._none)
        self.body.addLayout(self._grid)
        self.footnote = Text(
            tr("* assumed; the site sheet doesn't state it"), tone="muted", size=0.92, wrap=True
        )
        self.body.addWidget(self.footnote)
        self.body.addStretch(1)
        self._narrow = False
        look().changed.connect(self._measure_anew)

    def show_moment(self, moment: Moment) -> None:
        """Show the limits of a moment."""
        limits = moment.limits
        while len(self.rows) < len(limits):
            row = LimitRow(self)
            self.rows.append(row)
            self._place(len(self.rows) - 1)
        for number, row in enumerate(self.rows):
            row.set_visible(number < len(limits))
            if number < len(limits):
                row.show_limit(limits[number], stands=moment.generator.running is False)
        self._none.setVisible(not limits)
        self.footnote.setVisible(any(limit.assumed for limit in limits))
        self._keep_widths()

    def forget(self) -> None:
        """A new recording begins: widths start anew."""
        for row in self.rows:
            row.value.setMinimumWidth(0)
            row.bound.setMinimumWidth(0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Side by side where there is room."""
        super().resizeEvent(event)
        self._choose()

    def _measure_anew(self) -> None:
        self.forget()
        self._keep_widths()

    def _keep_widths(self) -> None:
        """Columns only get wider: numbers that change width don't move the graphs."""
        for name in ("value", "bound"):
            parts = [getattr(row, name) for row in self.rows]
            widest = max((part.sizeHint().width() for part in parts), default=0)
            for part in parts:
                if widest > part.minimumWidth():
                    part.setMinimumWidth(widest)
        self._choose()

    def side_by_side(self) -> int:
        """How wide the panel has to be for each limit to stand on one line."""
        label, value, bound = self._widths()
        return label + _GRAPH + value + bound + 3 * _GAP + self._margins()

    def minimumSizeHint(self) -> QSize:
        """As narrow as two lines to a limit allow."""
        label, value, bound = self._widths()
        width = max(label, _GRAPH) + max(value, bound) + 3 * _GAP + self._margins()
        return QSize(max(width, self.title.sizeHint().width()), super().minimumSizeHint().height())

    def _widths(self) -> tuple[int, int, int]:
        shown = [row for row in self.rows if row.shown]
        label = max((row.label.sizeHint().width() for row in shown), default=0)
        value = max((row.value.minimumWidth() for row in shown), default=0)
        bound = max((row.bound.minimumWidth() for row in shown), default=0)
        return label, value, bound

    def _margins(self) -> int:
        margins = self.body.contentsMargins()
        return margins.left() + margins.right()

    def _choose(self) -> None:
        narrow = self.side_by_side() > self.width()
        if narrow != self._narrow:
            self._narrow = narrow
            for number in range(len(self.rows)):
                self._place(number)

    def _place(self, number: int) -> None:
        row = self.rows[number]
        for part in row.parts:
            self._grid.removeWidget(part)
        if self._narrow:
            self._grid.addWidget(row.label, 2 * number, 0, 1, 2)
            self._grid.addWidget(row.value, 2 * number, 2, 1, 2, Qt.AlignmentFlag.AlignRight)
            self._grid.addWidget(row.graph, 2 * number + 1, 0, 1, 2)
            self._grid.addWidget(row.bound, 2 * number + 1, 2, 1, 2, Qt.AlignmentFlag.AlignRight)
        else:
            for column, part in enumerate(row.parts):
                self._grid.addWidget(part, 2 * number, column)


class LimitRow:
    """The widgets of one limit."""

    def __init__(self, parent: QWidget) -> None:
        self.label = Text(parent=parent)
        self.graph = Bullet(parent)
        self.value = Text(parent=parent)
        self.bound = Text(tone="muted", size=0.92, parent=parent)
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        self.value.setAlignment(right)
        self.parts: tuple[QWidget, ...] = (self.label, self.graph, self.value, self.bound)
        self.shown = True

    def set_visible(self, visible: bool) -> None:
        """Show or hide all parts."""
        self.shown = visible
        for part in self.parts:
            part.setVisible(visible)

    def show_limit(self, limit: LimitNow, *, stands: bool = False) -> None:
        """Show this limit; `stands` while the generator is stopped, which then has no voltage to be held to."""
        over, near = limit.state == "over", limit.state == "near"
        tone = severity_of(limit) if over else "text"
        self.label.show_text(str(limit.label))
        self.value.show_text(_amount(limit.value, limit.unit))
        self.value.set_tone(tone, bold=over or near)
        idle = stands and limit.key.startswith(ELECTRICAL)
        self.bound.show_text(tr("stopped") if idle else bound_text(limit))
        self.bound.set_tone(tone if over or near else "muted", bold=over)
        self.graph.show_limit(limit)
        self.graph.setAccessibleName(str(limit.label))
        told = f"{self.value.text()} {self.bound.text()}"
        self.graph.setAccessibleDescription(told)


def bound_text(limit: LimitNow) -> str:
    """What the value is held against: `of 25.0 A`, `near 25.0 A`, `at limit 25.0 A`, `▲ above 25.0 A`.

    A star marks a limit that is assumed.
    """
    text = str(_bound(limit))
    return f"{text} *" if limit.assumed and text else text


def _bound(limit: LimitNow) -> Phrase | str:
    lower, upper = limit.lower, limit.upper
    low = lower is not None and (upper is None or _nearer(limit.value, lower, upper))
    bound = lower if low else upper
    if bound is None:
        return ""
    amount = _amount(bound, limit.unit)
    if limit.state == "over":
        return Phrase("▼ below {bound}", bound=amount) if low else Phrase("▲ above {bound}", bound=amount)
    if limit.state == "near" and not low and limit.value >= bound:
        # Above it by less than its meter may be wrong, or than a charger's control is off.
        return Phrase("at limit {bound}", bound=amount)
    if limit.state == "near":
        return Phrase("near {bound}", bound=amount)
    if lower is not None and upper is not None:
        return Phrase("{lower} to {upper}", lower=_bare(lower, limit.unit), upper=_amount(upper, limit.unit))
    return Phrase("at least {bound}", bound=amount) if low else Phrase("of {bound}", bound=amount)


def _nearer(value: float, lower: float, upper: float) -> bool:
    return not math.isnan(value) and value - lower < upper - value


def _amount(value: float, unit: str) -> str:
    return str(Phrase(f"{{value:{unit}}}", value=value))


def _bare(value: float, unit: str) -> str:
    return (
        _amount(value, unit).removesuffix(unit).strip()
        if unit in ("A", "V", "Hz", "%", "°C")
        else (_amount(value, unit))
    )
