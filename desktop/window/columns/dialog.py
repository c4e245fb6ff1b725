"""The dialog that settles which column of a table is which channel, tried live, and kept in the site sheet."""

from __future__ import annotations

from PySide6.QtCore import QItemSelectionModel, QModelIndex, Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QButtonGroup,
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QRadioButton,
    QSplitter,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from desktop.sheet.channels import label
from desktop.sheet.columns import ColumnQuestion, Use, fault, first_uses, open_channels
from desktop.window.columns import words as columns_words
from desktop.window.columns.editor import ColumnEditor
from desktop.window.columns.preview import Trials, Tried
from desktop.window.columns.tables import ColumnTable, RawRows, ReadRows, table_view
from desktop.window.parts.scrolled import Scrolled, comfortable
from desktop.window.parts.text import Elided, Text
from desktop.window.parts.told import Told
from desktop.words import Phrase, tr
from recordings.errors import HeadraceError, UnclearDatesError


class ColumnsDialog(QDialog):
    """Asks about one table.

    answered  the site sheet holds the answer now (ColumnQuestion)
    """

    answered = Signal(object)

    def __init__(self, asked: ColumnQuestion, writable: bool = True, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(str(Phrase("Columns of {name}", name=asked.path.name)))
        self.asked = asked
        self._writable = writable
        self.uses = first_uses(asked)
        self.day_first = asked.day_first
        self.tried = Tried()
        self.trials = Trials(asked, self)
        self._number = 0
        self._before: dict[int, tuple[int, ...]] = {}
        self._make()
        self._lay_out()
        self._connect()
        self._show_dates(isinstance(asked.error, UnclearDatesError) or asked.site.site.dates is not None)
        self._start()

    # What the person says

    def choose(self, index: int, use: Use) -> None:
        """The column is used like this; what made its channel so far makes it no longer."""
        if use.channel != self.uses[index].channel:
            others = tuple(
                each for each, used in self.uses.items() if used.channel == use.channel and each != index
            )
            self._before[index] = others if use.channel else ()
            for other in self._before[index]:
                self.uses[other] = Use()
        self.uses[index] = use
        self._try()

    def add_up(self, index: int, on: bool) -> None:
        """The columns that make the same channel are added up with this one, or are not used."""
        channel = self.uses[index].channel
        others = self._others(index)
        self._before[index] = others
        for other in others:
            column = next(each for each in self.table.columns if each.index == other)
            sign = column.sign if column.meant == channel else 1
            self.uses[other] = Use(channel, self.uses[index].unit, sign) if on else Use()
        self._try()

    def set_day_first(self, day_first: bool) -> None:
        """How dates are meant."""
        (self.day if day_first else self.month).setChecked(True)
        self.day_first = day_first
        self._try()

    def accept(self) -> None:
        """Keep the answer, and go on."""
        draft = self.tried.draft
        if not self.save.isEnabled() or draft is None:
            return
        try:
            draft.save()
        except HeadraceError as error:
            self.told.say("attend", str(error))
            return
        self._end()
        super().accept()
        self.answered.emit(self.asked)

    def reject(self) -> None:
        """Nothing is kept."""
        self._end()
        super().reject()

    # What is shown

    def _try(self) -> None:
        self.save.setEnabled(False)
        unsettled, wrong = open_channels(self.asked, self.uses), fault(self.asked, self.uses)
        if unsettled or wrong is not None:
            self.tried = Tried()
            self.read.show_recording(None, self.asked.site.zone)
        if unsettled:
            names = ", ".join(label(name) for name in unsettled)
            self.told.say(
                "attend",
                str(Phrase("Several columns fit: {channels}. Say which column it is.", channels=names)),
            )
        elif wrong is not None:
            self.told.say("attend", str(wrong))
        else:
            self._number = self.trials.ask(self.uses, self.day_first)
        self._show_uses()

    def _take(self, number: int, tried: Tried) -> None:
        if number != self._number or open_channels(self.asked, self.uses) or fault(self.asked, self.uses):
            return
        self.tried = tried
        if tried.asks_dates:
            self._show_dates(True)
            self.told.say("attend", tr("Dates in this file may be day first or month first. Say which."))
        elif tried.error is not None:
            self.told.say("attend", columns_words.sentence(tried.error))
        else:
            good, text = columns_words.verdict(tried)
            self.told.say(None if good else "attend", text)
        self.save.setEnabled(tried.error is None and self._writable)
        self._show_uses()

    def _show_uses(self) -> None:
        self.table.show_uses(self.uses, open_channels(self.asked, self.uses), self.tried)
        if self.tried.recording is not None or self.tried.error is not None:
            self.read.show_recording(self.tried.recording, self.asked.site.zone)
        self._show_column()

    def _show_column(self) -> None:
        row = self.list.currentIndex().row()
        if row < 0:
            return
        column = self.table.columns[row]
        self.editor.show_column(column, self.uses[column.index], self.table.is_open(column))
        others = self._others(column.index)
        names = [columns_words.header(each) for each in self.table.columns if each.index in others]
        channel = self.uses[column.index].channel
        on = bool(others) and all(self.uses[other].channel == channel for other in others)
        self.editor.show_others(names if channel else [], on)

    def _others(self, index: int) -> tuple[int, ...]:
        """The columns that make the same channel, or did before this one took it."""
        channel = self.uses[index].channel
        made = [other for other, use in self.uses.items() if channel and use.channel == channel]
        free = [other for other in self._before.get(index, ()) if not self.uses[other].channel]
        return tuple(sorted({*made, *free} - {index}))

    def _show_dates(self, asks: bool) -> None:
        self.dates.setVisible(asks)

    # Putting together

    def _make(self) -> None:
        self.told = Told()
        self.table = ColumnTable(self.asked.inspection, self.uses)
        self.list = table_view(self.table, tr("Columns of the file"))
        self.list.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.raw = table_view(RawRows(self.asked.inspection), tr("The file's first rows"))
        self.raw.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectColumns)
        self.raw.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.read = ReadRows()
        self.editor = ColumnEditor()
        self.dates = self._date_choice()
        self.buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Save | QDialogButtonBox.StandardButton.Cancel
        )
        self.save = self.buttons.button(QDialogButtonBox.StandardButton.Save)
        self.save.setText(tr("&Save and open"))
        self.save.setDefault(True)
        self.buttons.button(QDialogButtonBox.StandardButton.Cancel).setText(tr("Cancel"))

    def _date_choice(self) -> QWidget:
        cells = [cell for row in self.asked.inspection.rows[1:] for cell in row]
        ways = next((ways for cell in cells if (ways := columns_words.both_ways(cell))[0]), ("", ""))
        box = QWidget()
        row = QHBoxLayout(box)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(16)
        row.addWidget(Text(tr("Dates are written"), bold=True))
        self.day, self.month = QRadioButton(tr("&Day first")), QRadioButton(tr("&Month first"))
        group = QButtonGroup(box)
        for button, way in ((self.day, ways[0]), (self.month, ways[1])):
            if way:
                button.setText(str(Phrase("{order}: {date}", order=button.text(), date=way)))
            button.setChecked(self.day_first is (button is self.day))
            group.addButton(button)
            row.addWidget(button)
        row.addStretch(1)
        return box

    def _lay_out(self) -> None:
        sheet = self.asked.draft.path
        kept = (
            Phrase("The answer is kept in the site sheet {sheet}", sheet=str(sheet))
            if sheet.exists()
            else Phrase("The answer is kept in a new site sheet, {sheet}", sheet=str(sheet))
        )
        if not self._writable:
            kept = Phrase("This recording came along with the program, and its site sheet stays as it is.")
        self.kept = Elided(str(kept), tone="muted")
        rows = QTabWidget()
        rows.addTab(self.raw, tr("The &file's first rows"))
        rows.addTab(
            table_view(self.read, tr("The first rows as they will be read"), stretched=False),
            tr("As they will be &read"),
        )
        rows.setAccessibleName(tr("First rows"))
        self.rows = rows
        upper = QSplitter(Qt.Orientation.Horizontal)
        upper.addWidget(self.list)
        upper.addWidget(Scrolled(self.editor, tr("What the chosen column is")))
        upper.setSizes([700, 400])
        upper.setStretchFactor(0, 1)
        whole = QSplitter(Qt.Orientation.Vertical)
        whole.addWidget(upper)
        whole.addWidget(rows)
        whole.setSizes([360, 220])
        for splitter in (upper, whole):
            splitter.setChildrenCollapsible(False)
            splitter.setHandleWidth(8)
        column = QVBoxLayout(self)
        column.setSpacing(10)
        column.addWidget(self.told)
        column.addWidget(self.dates)
        column.addWidget(whole, 1)
        column.addWidget(self.kept)
        column.addWidget(self.buttons)
        self.resize(comfortable(self, 1180, 660))

    def _connect(self) -> None:
        self.trials.told.connect(self._take)
        self.editor.changed.connect(self.choose)
        self.editor.together.connect(self.add_up)
        self.day.clicked.connect(lambda: self.set_day_first(True))
        self.month.clicked.connect(lambda: self.set_day_first(False))
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        self.list.selectionModel().currentRowChanged.connect(self._follow)
        self.raw.selectionModel().currentChanged.connect(self._follow_raw)

    def _start(self) -> None:
        told = self.asked.error.what if self.asked.error is not None else ""
        waiting = [
            row
            for row, each in enumerate(self.table.columns)
            if not self.uses[each.index].settled or f'"{each.header}"' in told
        ]
        self.list.setCurrentIndex(self.table.index(waiting[0] if waiting else 0, 0))
        (self.list if self.dates.isHidden() else self.day).setFocus()
        self._try()

    def _follow(self, current: QModelIndex) -> None:
        column = self.table.columns[current.row()].index
        if self.raw.currentIndex().column() != column:
            select = (
                QItemSelectionModel.SelectionFlag.ClearAndSelect | QItemSelectionModel.SelectionFlag.Columns
            )
            there = self.raw.model().index(0, column)
            self.raw.selectionModel().setCurrentIndex(there, select)
            self.raw.scrollTo(there)
        self._show_column()

    def _follow_raw(self, current: QModelIndex) -> None:
        rows = [row for row, each in enumerate(self.table.columns) if each.index == current.column()]
        if rows and rows[0] != self.list.currentIndex().row():
            self.list.setCurrentIndex(self.table.index(rows[0], 0))

    def _end(self) -> None:
        self._number = -1
        self.trials.close()
