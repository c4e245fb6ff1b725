"""The settings of the plant, each held against what it should be, and how to read or set it."""

from __future__ import annotations

import math

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QVBoxLayout

from desktop.diagnosis.settings_check.check import STATE_NAMES, Check, State
from desktop.review.checks import value_text
from desktop.window.evidence.page import OVERHANG, LookPage, lines
from desktop.window.evidence.state_mark import TONES, StateMark
from desktop.window.opening import Ready
from desktop.window.parts.text import Text
from desktop.words import Phrase, kept_together, template, tr

_ORDER: tuple[State, ...] = ("fail", "unknown", "pass")


class SettingsPage(LookPage):
    """What failed first, then what isn't known, then what passed."""

    def __init__(self) -> None:
        super().__init__(template("How the settings stand"))
        self.words: dict[str, Text] = {}

    def said(self, ready: Ready) -> object:
        """The checks as they are told."""
        return [(each.key, each.state, str(each.means), _values(each)) for each in ready.review.checks]

    def attention(self) -> int:
        """Checks that failed."""
        return 0 if self.ready is None else sum(each.state == "fail" for each in self.ready.review.checks)

    def fill(self, column: QVBoxLayout, ready: Ready) -> None:
        """Every check with its mark."""
        checks = ready.review.checks
        counts = {state: sum(each.state == state for each in checks) for state in _ORDER}
        told = Phrase(
            "{fail} fail, {unknown} can't be told, {passed} pass.",
            fail=str(counts["fail"]),
            unknown=str(counts["unknown"]),
            passed=str(counts["pass"]),
        )
        lines(column, [told], "muted")
        grid = QGridLayout()
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(3)
        grid.setColumnStretch(2, 1)
        column.addLayout(grid)
        self.words = {}
        row = 0
        for state in _ORDER:
            for check in (each for each in checks if each.state == state):
                row = self._check(grid, row, check)

    def _check(self, grid: QGridLayout, row: int, check: Check) -> int:
        """One check from a row on; the row after it."""
        top = Qt.AlignmentFlag.AlignTop
        word = Text(tr(STATE_NAMES[check.state]), bold=True, tone=TONES[check.state])
        self.words[check.key] = word
        grid.addWidget(StateMark(check.state), row, 0, top)
        grid.addWidget(word, row, 1, top)
        told = [
            Text(str(check.title), bold=True, wrap=True),
            Text(kept_together(str(check.means)), wrap=True),
            *(Text(kept_together(line), wrap=True, tone="muted") for line in _values(check)),
            Text(kept_together(str(check.how)), wrap=True, tone="muted"),
        ]
        for number, each in enumerate(told):
            each.setIndent(OVERHANG)
            grid.addWidget(each, row + number, 2)
        after = row + len(told)
        grid.setRowMinimumHeight(after, 12)
        return after + 1


def _values(check: Check) -> list[str]:
    """What the check rests on, in lines."""
    return [value_text(value) for value in check.values if math.isfinite(value.value)]
