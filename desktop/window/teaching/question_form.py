"""The form for a note's question: to choose one of several answers, or to click a part of the diagram."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import (
    QApplication,
    QButtonGroup,
    QComboBox,
    QFormLayout,
    QGridLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPlainTextEdit,
    QWidget,
)

from desktop.picture.diagram.parts import part_name
from desktop.teaching.notes import MOST_CHOICES, MOST_IN_LINE, PARTS
from desktop.window.parts.radio import RadioMark
from desktop.window.style import theme
from desktop.window.style.look import look
from desktop.window.teaching.beside import Beside
from desktop.words import Phrase, template, tr

_KINDS = ("none", "choose", "click")
_LINES, _EDGE = 4, 140


PANEL_NAMES: dict[str, str] = {
    "trends": template("Trends"),
    "limits": template("Limits"),
    "session": template("This charge session"),
    "findings": template("Findings"),
}
"""Panel → what it is called (English templates)."""


class PartList(QListWidget):
    """Parts of the diagram to be checked, and panels where they may be pointed at too.

    changed  others are checked
    """

    changed = Signal()

    def __init__(self, name: str, *, panels: bool = False) -> None:
        super().__init__()
        self.setAccessibleName(name)
        names = {part: part_name(part) for part in PARTS}
        names |= {panel: tr(told) for panel, told in PANEL_NAMES.items() if panels}
        for part, told in names.items():
            item = QListWidgetItem(told)
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            item.setCheckState(Qt.CheckState.Unchecked)
            item.setData(Qt.ItemDataRole.UserRole, part)
            self.addItem(item)
        self.setCurrentRow(0)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._dress()
        look().changed.connect(self._dress)
        self.itemChanged.connect(lambda _: self.changed.emit())

    def _dress(self) -> None:
        # The style draws a box's edge a little darker than the window, which is nothing in the dark.
        palette = QPalette(QApplication.palette())
        palette.setColor(QPalette.ColorRole.Window, theme.colour("strong_line").lighter(_EDGE))
        self.setPalette(palette)
        self.setFixedHeight(self.fontMetrics().lineSpacing() * (_LINES + 2))

    def check(self, parts: list[str]) -> None:
        """Check these and no others."""
        for row in range(self.count()):
            item = self.item(row)
            on = item.data(Qt.ItemDataRole.UserRole) in parts
            item.setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)

    def checked(self) -> list[str]:
        """Those that are checked."""
        items = [self.item(row) for row in range(self.count())]
        return [
            item.data(Qt.ItemDataRole.UserRole)
            for item in items
            if item.checkState() == Qt.CheckState.Checked
        ]


class QuestionForm(QWidget):
    """Edits a question, as the table that stands in the file.

    changed  it says something else now
    """

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._filling = False
        self.kind = QComboBox()
        for key, label in zip(
            _KINDS, (tr("Nothing"), tr("To choose an answer"), tr("To click in the diagram")), strict=True
        ):
            self.kind.addItem(label, key)
        self.ask = QLineEdit()
        self.ask.setMaxLength(MOST_IN_LINE)
        self.answers, self.rights, self._answers = _answer_fields()
        self.parts = PartList(tr("Parts that are right"))
        self.explain = QPlainTextEdit()
        self.explain.setTabChangesFocus(True)
        self.explain.setFixedHeight(self.fontMetrics().lineSpacing() * (_LINES + 1))
        self._form = QFormLayout(self)
        self._form.setContentsMargins(0, 0, 0, 0)
        self._form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        self._form.addRow(tr("What is asked"), self.kind)
        self.kind.setAccessibleName(tr("What is asked"))
        self.rows: dict[str, Beside] = {}
        """By the key that a fault names."""
        for key, label, field in (
            ("ask", tr("Question"), self.ask),
            ("choices", tr("Answers; mark the right one"), self._answers),
            ("parts", tr("Parts that are right"), self.parts),
            ("explain", tr("Explanation"), self.explain),
        ):
            self.rows[key] = Beside(field)
            self._form.addRow(label, self.rows[key])
            field.setAccessibleName(label)
        self._connect()
        self._arrange()

    def _connect(self) -> None:
        self.kind.currentIndexChanged.connect(self._arrange)
        self.kind.currentIndexChanged.connect(self._tell)
        self.ask.textEdited.connect(self._tell)
        self.explain.textChanged.connect(self._tell)
        self.parts.changed.connect(self._tell)
        for answer in self.answers:
            answer.textEdited.connect(self._tell)
        self.rights.idClicked.connect(self._tell)

    def show_table(self, table: Mapping[str, Any]) -> None:
        """Show a question; an empty table for none."""
        self._filling = True
        kind = "none" if not table else "choose" if "choices" in table else "click"
        self.kind.setCurrentIndex(_KINDS.index(kind))
        self.ask.setText(table.get("ask", ""))
        self.ask.setCursorPosition(0)
        choices = table.get("choices", [])
        for number, answer in enumerate(self.answers):
            answer.setText(choices[number] if number < len(choices) else "")
            answer.setCursorPosition(0)
        self.rights.button(min(max(table.get("right", 1), 1), MOST_CHOICES) - 1).setChecked(True)
        self.parts.check(table.get("parts", []))
        self.explain.setPlainText(table.get("explain", ""))
        self._filling = False
        self._arrange()

    def table(self) -> dict[str, Any]:
        """The question as it stands in the file; empty for none."""
        kind = self.kind.currentData()
        if kind == "none":
            return {}
        table: dict[str, Any] = {"ask": self.ask.text().strip()}
        if kind == "choose":
            filled = [number for number, answer in enumerate(self.answers) if answer.text().strip()]
            table["choices"] = [self.answers[number].text().strip() for number in filled]
            right = self.rights.checkedId()
            if right in filled:
                table["right"] = filled.index(right) + 1
        else:
            table["parts"] = self.parts.checked()
        explain = self.explain.toPlainText().strip()
        return table | ({"explain": explain} if explain else {})

    def _arrange(self) -> None:
        kind = self.kind.currentData()
        for key, shown in (
            ("ask", kind != "none"),
            ("choices", kind == "choose"),
            ("parts", kind == "click"),
            ("explain", kind != "none"),
        ):
            self._form.setRowVisible(self.rows[key], shown)

    def _tell(self) -> None:
        if not self._filling:
            self.changed.emit()


def _answer_fields() -> tuple[list[QLineEdit], QButtonGroup, QWidget]:
    """The answers, what marks the right one, and the widget that holds them."""
    inside = QWidget()
    inside.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    grid = QGridLayout(inside)
    grid.setContentsMargins(0, 0, 0, 0)
    rights = QButtonGroup(inside)
    answers = []
    for number in range(MOST_CHOICES):
        button, answer = RadioMark(), QLineEdit()
        answer.setMaxLength(MOST_IN_LINE)
        button.setAccessibleName(str(Phrase("Answer {number} is right", number=str(number + 1))))
        answer.setAccessibleName(str(Phrase("Answer {number}", number=str(number + 1))))
        rights.addButton(button, number)
        grid.addWidget(button, number, 0)
        grid.addWidget(answer, number, 1)
        answers.append(answer)
    rights.button(0).setChecked(True)
    inside.setFocusProxy(answers[0])
    return answers, rights, inside
