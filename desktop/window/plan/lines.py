"""Lines of the form: numbers, lists of numbers and hours of the day, each telling what would be right."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, QTime, Signal
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLabel, QLineEdit, QTimeEdit, QVBoxLayout, QWidget

from desktop.charging.outlook.rule import Hours
from desktop.sheet import numbers
from desktop.window.parts.text import Text
from desktop.window.style.look import look
from desktop.words import Phrase, tr

_LETTERS = 16


class NumberLine(QWidget):
    """A number from `least` to `most`, or nothing. `several`: numbers with semicolons or blanks between them.

    changed  the user changed something
    """

    changed = Signal()

    def __init__(
        self,
        name: str,
        unit: str,
        bounds: tuple[float, float],
        without: str,
        *,
        several: bool = False,
        whole: bool = False,
    ) -> None:
        super().__init__()
        self._least, self._most = bounds
        self._several, self._whole = several, whole
        self.label = QLabel(name)
        self.line = QLineEdit()
        self.line.setAccessibleName(name.replace("&", ""))
        self.unit = Text(unit, tone="muted")
        self.fault = Text(tone="attend", wrap=True)
        self.fault.hide()
        self.label.setBuddy(self.line)
        self.line.textEdited.connect(self._tell)
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self.line)
        row.addWidget(self.unit)
        row.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addWidget(self.label)
        column.addLayout(row)
        column.addWidget(self.fault)
        self.set_without(without)
        look().changed.connect(self._dress)

    def set_without(self, without: str) -> None:
        """What nothing means."""
        self.line.setPlaceholderText(without)
        self._dress()

    def values(self) -> tuple[float, ...] | None:
        """The numbers; None where something else was typed."""
        text = self.line.text().strip()
        parts = text.replace(";", " ").split() if self._several else [text] if text else []
        found = [numbers.parsed(each) for each in parts]
        right = all(
            each is not None and self._least <= each <= self._most and (not self._whole or each == int(each))
            for each in found
        )
        return tuple(each for each in found if each is not None) if right else None

    def value(self) -> float | None:
        """The number; None for nothing, or for something else."""
        return next(iter(self.values() or ()), None)

    def right(self) -> bool:
        """Whether it says what it should, or nothing; it says so."""
        good = self.values() is not None
        kind = tr("numbers") if self._several else tr("a whole number") if self._whole else tr("a number")
        told = Phrase(
            "Here goes {kind} from {least} to {most}.",
            kind=kind,
            least=numbers.shown(self._least),
            most=numbers.shown(self._most),
        )
        self.fault.show_text(f"◆ {told}")
        self.fault.setVisible(not good)
        self.line.setAccessibleDescription("" if good else str(told))
        return good

    def _tell(self) -> None:
        self.right()
        self.changed.emit()

    def _dress(self) -> None:
        metrics = self.line.fontMetrics()
        hint = metrics.horizontalAdvance(self.line.placeholderText()) + 16
        self.line.setFixedWidth(max(metrics.averageCharWidth() * _LETTERS, hint))


class HoursLine(QWidget):
    """Hours of the day, where they are checked."""

    def __init__(self, name: str, usual: tuple[int, int]) -> None:
        super().__init__()
        plain = name.replace("&", "")
        self.box = QCheckBox(name)
        self.since, self.until = (_clock(hour) for hour in usual)
        for each, words in ((self.since, tr("from")), (self.until, tr("until"))):
            each.setAccessibleName(f"{plain}, {words}")
            each.setEnabled(False)
            self.box.toggled.connect(each.setEnabled)
        row = QHBoxLayout()
        row.setSpacing(8)
        for part in (Text(tr("from"), tone="muted"), self.since, Text(tr("until"), tone="muted"), self.until):
            row.addWidget(part)
        row.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addWidget(self.box)
        column.addLayout(row)

    def hours(self) -> Hours | None:
        """The hours; None where they don't matter, or where there are none between."""
        since, until = (_hour(each.time()) for each in (self.since, self.until))
        return Hours(since, until) if self.box.isChecked() and since != until else None


def all_right(lines: Sequence[NumberLine]) -> bool:
    """Whether all of these are right; each says so."""
    return sum(not each.right() for each in lines) == 0


class _Clock(QTimeEdit):
    """A time of day that the wheel scrolls past, instead of changing it unseen."""

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Let the form scroll."""
        event.ignore()


def _clock(hour: int) -> QTimeEdit:
    edit = _Clock(QTime(hour, 0))
    edit.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    edit.setDisplayFormat("HH:mm")
    return edit


def _hour(time: QTime) -> float:
    return time.hour() + time.minute() / 60
