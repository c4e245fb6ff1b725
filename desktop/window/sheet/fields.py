"""Fields for values of the site sheet: empty means not known, or what is assumed; a wrong value is told at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import available_timezones

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QComboBox, QCompleter, QHBoxLayout, QLineEdit, QWidget

from desktop.sheet import facts, numbers
from desktop.sheet.keys import Key
from desktop.window.parts.text import Text
from desktop.window.style import theme
from desktop.window.style.look import look
from desktop.words import Phrase, tr

_NUMBER, _TEXT = 14, 28


class Field(QObject):
    """One key's field.

    changed  the user changed something
    needed   whether it has to say something, as things stand
    """

    changed = Signal()

    def __init__(self, key: Key, name: str) -> None:
        super().__init__()
        self.key = key
        self.needed: Callable[[], bool] = lambda: False
        self.widget: QWidget
        self.fault = Text(tone="attend", wrap=True)
        self.fault.hide()
        self._name = name

    def value(self) -> Any:
        """What the field says: None for nothing, a text where it is no right value."""
        raise NotImplementedError

    def show_value(self, value: Any) -> None:
        """Show what the sheet says."""
        raise NotImplementedError

    def right(self) -> bool:
        """Whether it says a right value, or nothing."""
        value = self.value()
        if value is None:
            return not self.needed()
        return facts.accepts(*self.key.path, value)

    def judge(self) -> bool:
        """Say beside the field what would be right, where its value isn't. Whether it is right."""
        good = self.right()
        told = "" if good else str(Phrase("Here goes {right}.", right=facts.right(*self.key.path)))
        self.fault.show_text(f"◆ {told}")
        self.fault.setVisible(not good)
        self.widget.setAccessibleDescription(told or tr(self.key.explanation))
        return good

    def _take(self, widget: QWidget) -> None:
        self.widget = widget
        widget.setAccessibleName(self._name)
        widget.setAccessibleDescription(tr(self.key.explanation))
        self._dress()
        look().changed.connect(self._dress)

    def _dress(self) -> None:
        raise NotImplementedError

    def _tell(self) -> None:
        self.judge()
        self.changed.emit()


class LineField(Field):
    """A number or a text."""

    def __init__(self, key: Key, name: str) -> None:
        super().__init__(key, name)
        self._number = facts.is_number(*key.path)
        self.line = QLineEdit()
        self.line.setPlaceholderText(_without(key))
        self.line.textEdited.connect(self._tell)
        self._take(self.line)

    def value(self) -> Any:
        """The number or text; the text as it is where it should be a number."""
        text = self.line.text().strip()
        if not text:
            return None
        if not self._number:
            return text
        number = numbers.parsed(text)
        return text if number is None else number

    def show_value(self, value: Any) -> None:
        """Show it."""
        shown = "" if value is None else numbers.shown(value) if self._number else str(value)
        self.line.setText(shown)
        self.line.setCursorPosition(0)
        self.judge()

    def _dress(self) -> None:
        letters = _NUMBER if self._number else _TEXT
        width = max(self.line.fontMetrics().averageCharWidth() * letters, self._placeholder_width())
        self.line.setMinimumWidth(width)
        self.line.setMaximumWidth(width if self._number else 2 * width)

    def _placeholder_width(self) -> int:
        return self.line.fontMetrics().horizontalAdvance(self.line.placeholderText()) + 16


class TimeField(LineField):
    """A date and time."""

    def value(self) -> Any:
        """The instant; the text as it is where it is none."""
        text = self.line.text().strip()
        try:
            return datetime.fromisoformat(text) if text else None
        except ValueError:
            return text

    def right(self) -> bool:
        """Whether it says one, or nothing where it needn't."""
        value = self.value()
        return isinstance(value, datetime) or (value is None and not self.needed())

    def show_value(self, value: Any) -> None:
        """Show it, as it would be typed."""
        if isinstance(value, datetime):
            exact = value.second or value.microsecond
            value = value.isoformat(" ", "auto" if exact else "minutes")
        super().show_value(value)


class ChoiceField(Field):
    """One of several words or numbers, or nothing."""

    def __init__(self, key: Key, name: str) -> None:
        super().__init__(key, name)
        self.box = Choice()
        self.box.addItem(_without(key), None)
        for each in facts.choices(*key.path):
            self.box.addItem(tr(facts.choice_name(each)), each)
        self.box.activated.connect(self._tell)
        self._take(self.box)

    def value(self) -> Any:
        """The chosen one."""
        return self.box.currentData()

    def show_value(self, value: Any) -> None:
        """Choose it."""
        known = [self.box.itemData(row) for row in range(self.box.count())]
        self.box.setCurrentIndex(known.index(value) if value in known else 0)
        self.judge()
        self._dress()

    def _tell(self) -> None:
        self._dress()
        super()._tell()

    def _dress(self) -> None:
        _grey(self.box, self.box.currentData() is None)


class ZoneField(Field):
    """A time zone: typed, with the zones that there are to choose from."""

    def __init__(self, key: Key, name: str) -> None:
        super().__init__(key, name)
        self.box = Choice()
        self.box.setEditable(True)
        self.box.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.box.addItems(sorted(available_timezones()))
        self.box.setMinimumContentsLength(_TEXT - 8)
        self.box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.box.completer().setFilterMode(Qt.MatchFlag.MatchContains)
        self.box.completer().setCompletionMode(QCompleter.CompletionMode.PopupCompletion)
        self.box.lineEdit().setPlaceholderText(_without(key))
        self.box.lineEdit().setAccessibleName(name)
        self.box.editTextChanged.connect(self._tell)
        self._take(self.box)

    def value(self) -> Any:
        """What was typed or chosen."""
        return self.box.currentText().strip() or None

    def show_value(self, value: Any) -> None:
        """Show it."""
        self.box.blockSignals(True)
        self.box.setEditText(value or "")
        self.box.blockSignals(False)
        self.judge()

    def _dress(self) -> None:
        self.box.updateGeometry()


class Choice(QComboBox):
    """A list to choose from that the wheel scrolls past, instead of changing it unseen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMaxVisibleItems(30)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Let the page scroll."""
        event.ignore()


def field(key: Key, name: str = "") -> Field:
    """The field that a key needs. `name` is what a screen reader calls it, its label where not given."""
    name = name or tr(key.label)
    if facts.choices(*key.path):
        return ChoiceField(key, name)
    if facts.is_time(*key.path):
        return TimeField(key, name)
    return ZoneField(key, name) if key.key == "timezone" else LineField(key, name)


def beside(field: Field, unit: str) -> QWidget:
    """The field with its unit."""
    whole = QWidget()
    row = QHBoxLayout(whole)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(8)
    row.addWidget(field.widget)
    row.addWidget(Text(tr(unit), tone="muted"))
    row.addStretch(1)
    return whole


def all_right(fields: Sequence[Field]) -> int:
    """How many of these are wrong; each says so."""
    return sum(not each.judge() for each in fields)


def _without(key: Key) -> str:
    """What an empty field means."""
    value = facts.assumed(*key.path)
    if facts.is_needed(*key.path):
        return tr("needed")
    if value is None:
        return tr("not known")
    if isinstance(value, bool) or (value in facts.CHOICES and isinstance(value, str)):
        shown = tr(facts.choice_name(value))
    else:
        shown = numbers.shown(value) if isinstance(value, (int, float)) else str(value)
    return str(Phrase("{value} (assumed)", value=shown))


def _grey(box: QComboBox, grey: bool) -> None:
    palette = box.palette()
    tone = theme.colour("muted" if grey else "text")
    for role in (palette.ColorRole.ButtonText, palette.ColorRole.Text):
        palette.setColor(role, tone)
    box.setPalette(palette)
    if box.view() is not None:
        listed = box.view().palette()
        listed.setColor(listed.ColorRole.Text, theme.colour("text"))
        box.view().setPalette(listed)
