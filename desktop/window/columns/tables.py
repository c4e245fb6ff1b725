"""The tables of the columns dialog: one row per column, the file's first rows, and these rows as they are read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QSize, Qt
from PySide6.QtGui import QFont, QPalette
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView

from desktop.sheet.channels import label
from desktop.sheet.columns import Use
from desktop.window.columns import words as columns_words
from desktop.window.columns.preview import Tried
from desktop.window.style import theme
from desktop.window.style.look import look
from desktop.words import local, template, tr
from recordings.recording import Recording
from recordings.tables import ColumnGuess, TableInspection

Index = QModelIndex | QPersistentModelIndex

_FEW_VALUES = 3
_FEW_ROWS = 40
_LONG = 28
_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
_TITLES = (
    template("In the file"),
    template("First values"),
    template("What it is"),
    template("Unit"),
    template("Sign"),
    template("Will be read as"),
)


class ColumnTable(QAbstractTableModel):
    """Each column of the file with what it is used for."""

    def __init__(self, found: TableInspection, uses: Mapping[int, Use]) -> None:
        super().__init__()
        self.columns: Sequence[ColumnGuess] = found.columns
        self._rows = found.rows[1:]
        self._uses = dict(uses)
        self._open: frozenset[str] = frozenset()
        self._tried = Tried()

    def show_uses(self, uses: Mapping[int, Use], open_channels: Sequence[str], tried: Tried) -> None:
        """What the columns are used for now, which channels are open, and what came of it."""
        self._uses, self._open, self._tried = dict(uses), frozenset(open_channels), tried
        last = self.index(self.rowCount() - 1, self.columnCount() - 1)
        self.dataChanged.emit(self.index(0, 0), last)

    def is_open(self, column: ColumnGuess) -> bool:
        """Whether it waits for a word whether it is the channel that it may be."""
        return column.meant in self._open and not self._uses[column.index].settled

    def rowCount(self, parent: Index | None = None) -> int:
        """Columns of the file."""
        return 0 if parent is not None and parent.isValid() else len(self.columns)

    def columnCount(self, parent: Index | None = None) -> int:
        """What is told of each."""
        return 0 if parent is not None and parent.isValid() else len(_TITLES)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole):
        """Titles."""
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return tr(_TITLES[section])
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """What is told, and how it looks."""
        column = self.columns[index.row()]
        use = self._uses[column.index]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return self._text(index.column(), column, use)
        if role == Qt.ItemDataRole.ToolTipRole:
            return column.header if index.column() == 0 else None
        if role == Qt.ItemDataRole.ForegroundRole:
            if self.is_open(column):
                return theme.colour("attend")
            return None if use.channel else theme.colour("muted")
        if role == Qt.ItemDataRole.FontRole and (
            self.is_open(column) or (use.channel and index.column() == 2)
        ):
            font = QFont()
            font.setBold(True)
            return font
        return None

    def _text(self, title: int, column: ColumnGuess, use: Use) -> str:
        if title == 0:
            return _short(columns_words.header(column))
        if title == 1:
            cells = [row[column.index] for row in self._rows if column.index < len(row)]
            return _short("  ".join([cell for cell in cells if cell.strip()][:_FEW_VALUES]))
        if title == 2:
            return columns_words.use(column, use, self.is_open(column))
        if title == 3:
            return columns_words.unit(column, use)
        if title == 4:
            return "" if not use.channel else "+" if use.sign > 0 else "−"
        return columns_words.span(use.channel, self._tried) if use.channel else ""


class RawRows(QAbstractTableModel):
    """The first rows as they stand in the file."""

    def __init__(self, found: TableInspection) -> None:
        super().__init__()
        self._header, self._rows = found.rows[0], found.rows[1:]

    def rowCount(self, parent: Index | None = None) -> int:
        """Rows."""
        return 0 if parent is not None and parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index | None = None) -> int:
        """Columns."""
        return 0 if parent is not None and parent.isValid() else len(self._header)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole):
        """Headers as they stand there."""
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return _short(self._header[section])
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Cells as they stand there."""
        if role not in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return None
        row = self._rows[index.row()]
        return _short(row[index.column()]) if index.column() < len(row) else ""


class ReadRows(QAbstractTableModel):
    """The first rows as they are read."""

    def __init__(self) -> None:
        super().__init__()
        self._recording = Recording()
        self._zone: object = None

    def show_recording(self, recording: Recording | None, zone: object) -> None:
        """Show the first rows of this one, its times in a zone."""
        self.beginResetModel()
        self._recording, self._zone = recording or Recording(), zone
        self.endResetModel()

    def rowCount(self, parent: Index | None = None) -> int:
        """Rows."""
        return 0 if parent is not None and parent.isValid() else min(len(self._recording), _FEW_ROWS)

    def columnCount(self, parent: Index | None = None) -> int:
        """The time and the channels."""
        if (parent is not None and parent.isValid()) or not len(self._recording):
            return 0
        return 1 + len(self._recording.channels)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole):
        """What they are called."""
        if role == Qt.ItemDataRole.TextAlignmentRole and section:
            return _RIGHT
        if role != Qt.ItemDataRole.DisplayRole or orientation != Qt.Orientation.Horizontal:
            return None
        return tr("Time") if section == 0 else label(self._recording.channels[section - 1])

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Times and values with their units."""
        if role == Qt.ItemDataRole.TextAlignmentRole and index.column():
            return _RIGHT
        if role not in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return None
        if index.column() == 0:
            return f"{local(int(self._recording.time[index.row()]), self._zone):%Y-%m-%d %H:%M:%S}"
        channel = self._recording.channels[index.column() - 1]
        return columns_words.value(float(self._recording.column(channel)[index.row()]), channel)


class _Table(QTableView):
    def __init__(self) -> None:
        super().__init__()
        self._dress()
        look().changed.connect(self._dress)

    def minimumSizeHint(self) -> QSize:
        """Its titles and two rows."""
        lines = self.fontMetrics().lineSpacing() * 3
        return QSize(
            self.fontMetrics().averageCharWidth() * 24, lines + self.horizontalScrollBar().sizeHint().height()
        )

    def _dress(self) -> None:
        palette = QPalette(self.palette())
        for group in (QPalette.ColorGroup.Active, QPalette.ColorGroup.Inactive):
            palette.setColor(group, QPalette.ColorRole.Highlight, theme.colour("selected"))
            palette.setColor(group, QPalette.ColorRole.HighlightedText, theme.colour("text"))
        self.setPalette(palette)


def table_view(model: QAbstractTableModel, name: str, stretched: bool = True) -> QTableView:
    """A quiet table that is read and chosen from, and that Tab leaves.

    stretched  the last column takes what is left of the width
    """
    view = _Table()
    view.setModel(model)
    view.setAccessibleName(name)
    view.setTabKeyNavigation(False)
    view.setShowGrid(False)
    view.setWordWrap(False)
    view.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
    view.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
    view.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
    view.verticalHeader().hide()
    view.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
    heading = view.horizontalHeader()
    heading.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
    heading.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
    heading.setHighlightSections(False)
    heading.setStretchLastSection(stretched)
    return view


def _short(text: str) -> str:
    return text if len(text) <= _LONG else text[: _LONG - 1] + "…"
