"""What one column is: the fields in which a person says it, with the evidence beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QCheckBox, QComboBox, QFormLayout, QLabel, QVBoxLayout, QWidget

from desktop.sheet.channels import label, meaning
from desktop.sheet.columns import Use
from desktop.window.columns import words as columns_words
from desktop.window.parts.text import Text
from desktop.words import Phrase, tr
from recordings.channels import CHANNELS
from recordings.tables import ColumnGuess
from recordings.tables.units import fitting


class ColumnEditor(QWidget):
    """Shows one column's use, and tells what the person makes of it.

    changed   another use of the column that is shown (its index, Use)
    together  whether the other columns of its channel are added up with it (its index, yes or no)
    """

    changed = Signal(int, object)
    together = Signal(int, bool)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._column: ColumnGuess | None = None
        self._use = Use()
        self.name = Text(bold=True, size=1.15, wrap=True)
        self.channel = _choice(tr("What the column is"))
        self.channel.setPlaceholderText(tr("Choose…"))
        self.channel.addItem(tr("Not used"), "")
        for name in CHANNELS:
            self.channel.addItem(label(name), name)
        self.unit = _choice(tr("Unit of the column"))
        self.turned = QCheckBox(tr("Counts the other &way round"))
        self.added = QCheckBox()
        self.meaning = Text(tone="muted", wrap=True)
        self.evidence = Text(tone="muted", wrap=True)
        self.rivals = Text(tone="muted", wrap=True)
        self._lay_out()
        self.channel.activated.connect(self._choose_channel)
        self.unit.activated.connect(lambda: self._tell(replace(self._use, unit=self.unit.currentData())))
        self.turned.clicked.connect(lambda on: self._tell(replace(self._use, sign=-1 if on else 1)))
        self.added.clicked.connect(lambda on: self._column and self.together.emit(self._column.index, on))

    def show_column(self, column: ColumnGuess, use: Use, is_open: bool) -> None:
        """Show a column and its use.

        is_open  it waits for a word whether it is the channel that it may be
        """
        self._column, self._use = column, use
        self.name.show_text(columns_words.header(column))
        self.channel.setCurrentIndex(-1 if is_open else self.channel.findData(use.channel))
        self._fill_units(column, use)
        self.turned.setEnabled(bool(use.channel))
        self.turned.setChecked(use.sign < 0 and bool(use.channel))
        self.meaning.show_text(meaning(use.channel) if use.channel else "")
        self.meaning.setVisible(bool(use.channel))
        self.evidence.show_text(_evidence(column))
        self.rivals.show_text(
            str(Phrase("Other columns that fit it too: {columns}.", columns=", ".join(column.rivals)))
        )
        self.rivals.setVisible(bool(column.rivals))

    def show_others(self, others: Sequence[str], on: bool) -> None:
        """Offer to add up with these other columns of the same channel; none, and nothing is offered."""
        names = ", ".join(f"“{name}”" for name in others).replace("&", "&&")
        self.added.setText(str(Phrase("&Together with {columns}", columns=names)))
        self.added.setChecked(on)
        self.added.setVisible(bool(others))

    def _lay_out(self) -> None:
        form = QFormLayout()
        form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        for text, field in ((tr("What it &is"), self.channel), (tr("&Unit"), self.unit)):
            caption = QLabel(text)
            caption.setBuddy(field)
            form.addRow(caption, field)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(self.name)
        column.addLayout(form)
        column.addWidget(self.turned)
        column.addWidget(self.meaning)
        column.addWidget(self.added)
        column.addWidget(self.evidence)
        column.addWidget(self.rivals)
        column.addStretch(1)

    def _fill_units(self, column: ColumnGuess, use: Use) -> None:
        units = fitting(CHANNELS[use.channel].unit) if use.channel else ()
        self.unit.clear()
        if units and column.unit in units:
            self.unit.addItem(str(Phrase("{unit}, as the header says", unit=column.unit)), "")
        elif units and not column.unit:
            self.unit.addItem(str(Phrase("Not told: {unit} is taken", unit=units[0])), "")
        for name in units:
            self.unit.addItem(name, name)
        self.unit.setCurrentIndex(max(self.unit.findData(use.unit), 0) if units else -1)
        self.unit.setEnabled(bool(units))

    def _choose_channel(self) -> None:
        column, channel = self._column, self.channel.currentData()
        if column is None:
            return
        units = fitting(CHANNELS[channel].unit) if channel else ()
        unit = units[0] if units and column.unit and column.unit not in units else ""
        sign = column.sign if channel == column.meant else 1
        self._tell(Use(channel, unit, sign if channel else 1))

    def _tell(self, use: Use) -> None:
        if self._column is not None:
            self.changed.emit(self._column.index, replace(use, settled=True, told=True))


def _evidence(column: ColumnGuess) -> str:
    if not column.meant:
        return tr("Nothing in its header tells what it is.") if column.numeric else tr("It holds no numbers.")
    if not column.numeric:
        return tr("Its header means something, but it holds no numbers.")
    return str(
        Phrase("Its header means: {channel} ({evidence}).", channel=label(column.meant), evidence=column.how)
    )


def _choice(name: str) -> QComboBox:
    box = QComboBox()
    box.setAccessibleName(name)
    box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
    # The wheel is for scrolling past a field, not for changing it unseen.
    box.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    box.setMaxVisibleItems(30)
    return box
