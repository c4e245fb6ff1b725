"""The findings of a recording: sorted, filtered, copied; choosing one moves the cursor there."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, QPointF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAction,
    QGuiApplication,
    QIcon,
    QKeyEvent,
    QKeySequence,
    QPainter,
    QPixmap,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QFrame,
    QHBoxLayout,
    QListView,
    QPushButton,
    QToolButton,
    QWidget,
)

from desktop.diagnosis.finding import SEVERITIES, SEVERITY_NAMES, Finding, Severity
from desktop.review.moment import Moment
from desktop.teaching.hiding import judged
from desktop.window.panels.finding_list import (
    FINDING,
    SORTINGS,
    FindingModel,
    FindingPainter,
    SortedFindings,
    finding_text,
)
from desktop.window.parts.panel import Panel
from desktop.window.parts.severity_shapes import draw_mark
from desktop.window.parts.text import Text
from desktop.window.parts.times import Times
from desktop.window.style import theme
from desktop.window.style.look import look
from desktop.words import Phrase, tr

_LEAST_LINES, _MOST_LINES = 5, 400


class FindingsPanel(Panel):
    """The list, with its sorting and its filter.

    chosen  the user chose a finding; the instant where it begins (int, UTC nanoseconds)
    opened  the user wants to know what led to a finding (Finding)
    """

    chosen = Signal(object)
    opened = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(tr("Findings"), parent)
        self._all: Sequence[Finding] = ()
        self._hidden: int | None = None
        self._why = ""
        self.model = FindingModel()
        self.sorted = SortedFindings(self.model)
        self.list = _FindingView(self.sorted)
        self.list.chosen.connect(self._choose)
        self.list.opened.connect(self._open)
        self.count = Text(tone="muted", bold=True, size=0.92)
        self.sorting = QComboBox()
        self.sorting.setAccessibleName(tr("Order of findings"))
        # Where a choice is named by what is chosen, this says what it is about.
        self.sorting.setAccessibleDescription(tr("Order of findings"))
        for key, label in SORTINGS.items():
            self.sorting.addItem(tr(label), key)
        self.sorting.currentIndexChanged.connect(lambda: self.sorted.sort_by(self.sorting.currentData()))
        self.filters = {severity: self._filter(severity) for severity in SEVERITIES}
        self.head.addWidget(self.count)
        self.head.addStretch(1)
        for button in self.filters.values():
            self.head.addWidget(button)
        self._below = QHBoxLayout()
        self._below.addStretch(1)
        self.body.addLayout(self._below)
        self._narrow: bool | None = None
        self._arrange()
        self.nothing = Text(tone="muted", wrap=True)
        self.nothing.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.body.addWidget(self.nothing, 1)
        self.body.addWidget(self.list, 1)
        self.look = QPushButton(tr("What led to it…"))
        self.look.setToolTip(tr("Enter or a double click on a finding does the same"))
        self.look.clicked.connect(lambda: self._open(self.list.currentIndex()))
        self.body.addWidget(self.look, 0, Qt.AlignmentFlag.AlignLeft)
        self._add_copying()
        self._dress()
        look().changed.connect(self._dress)

    def set_findings(self, findings: Sequence[Finding], times: Times) -> None:
        """Show these findings with the recording's times."""
        self._all = findings
        self.model.set_findings(judged(findings, self._hidden), times)
        self._count(self.model.findings)

    def hide_after(self, instant: int | None, why: str = "") -> None:
        """Show nothing while anything after an instant (UTC nanoseconds) is hidden; None: everything.

        why  what is said in place of the list
        """
        if (instant, why) != (self._hidden, self._why):
            self._hidden, self._why = instant, why
            self.set_findings(self._all, self.model.times)

    def update_findings(self, findings: Sequence[Finding], times: Times) -> None:
        """Show these instead of those before them; what is selected, scrolled to and filtered stays so."""
        self._all = findings
        self.model.update(judged(findings, self._hidden), times)
        self._count(self.model.findings)

    def _count(self, findings: Sequence[Finding]) -> None:
        for severity, button in self.filters.items():
            count = sum(each.severity == severity for each in findings)
            button.setText(str(count))
            button.setEnabled(count > 0)
            button.setVisible(bool(findings))
            told = Phrase("{severity}: {count}", severity=tr(SEVERITY_NAMES[severity]), count=str(count))
            button.setAccessibleName(str(told))
            button.setToolTip(str(Phrase("Show “{severity}”", severity=tr(SEVERITY_NAMES[severity]))))
        self.sorting.setVisible(bool(findings))
        self._show_count()

    def show_moment(self, moment: Moment) -> None:
        """Mark the findings that stand."""
        standing = self.model.set_standing(moment.time)
        if standing and not self.list.hasFocus():
            rows = [self.sorted.mapFromSource(self.model.index(row)) for row in standing]
            first = min((index for index in rows if index.isValid()), key=QModelIndex.row, default=None)
            if first is not None:
                self.list.scrollTo(first)

    def selected_text(self) -> str:
        """The chosen findings as text; all that are shown where none is chosen."""
        rows = self.list.selectionModel().selectedRows() or [
            self.sorted.index(row, 0) for row in range(self.sorted.rowCount())
        ]
        rows = sorted(rows, key=lambda index: index.row())
        return "\n\n".join(finding_text(index.data(FINDING), self.model.times) for index in rows)

    def copy(self) -> None:
        """Put them on the clipboard."""
        QGuiApplication.clipboard().setText(self.selected_text())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The order's choice stands beside the filter where there is room, else below."""
        super().resizeEvent(event)
        self._arrange()

    def minimumSizeHint(self) -> QSize:
        """As narrow as two lines above the list allow."""
        margins = self.body.contentsMargins()
        width = max(self._filter_width(), self.sorting.sizeHint().width())
        return QSize(width + margins.left() + margins.right(), super().minimumSizeHint().height())

    def _filter_width(self) -> int:
        parts = (self.title, self.count, *self.filters.values())
        return sum(part.sizeHint().width() + self.head.spacing() for part in parts)

    def _arrange(self) -> None:
        margins = self.body.contentsMargins()
        room = self.width() - margins.left() - margins.right()
        narrow = self._filter_width() + self.sorting.sizeHint().width() > room
        if narrow != self._narrow:
            self._narrow = narrow
            (self._below if narrow else self.head).addWidget(self.sorting)

    def _choose(self, index: QModelIndex) -> None:
        self.chosen.emit(index.data(FINDING).start)

    def _open(self, index: QModelIndex) -> None:
        """The one that was chosen; the first one of the list where none was."""
        if not index.isValid():
            index = self.sorted.index(0, 0)
        if index.isValid():
            self.opened.emit(index.data(FINDING))

    def _filter(self, severity: Severity) -> QToolButton:
        button = QToolButton()
        button.setCheckable(True)
        button.setChecked(True)
        button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        button.toggled.connect(self._filtered)
        button.setProperty("severity", severity)
        return button

    def _filtered(self) -> None:
        chosen = frozenset(name for name, button in self.filters.items() if button.isChecked())
        self.sorted.show_severities(chosen)
        self._show_count()

    def _show_count(self) -> None:
        shown, all_of_them = self.sorted.rowCount(), self.model.rowCount()
        text = (
            str(shown)
            if shown == all_of_them
            else str(Phrase("{shown} of {all}", shown=str(shown), all=str(all_of_them)))
        )
        self.count.show_text(text if self._hidden is None else "")
        self.nothing.setVisible(shown == 0)
        self.list.setVisible(shown > 0)
        self.look.setVisible(shown > 0)
        if all_of_them:
            self.nothing.show_text(tr("All findings are filtered out."))
        elif self._hidden is None:
            self.nothing.show_text(tr("Nothing found that is wrong."))
        else:
            self.nothing.show_text(self._why)

    def _add_copying(self) -> None:
        action = QAction(tr("Copy"), self.list)
        action.setShortcut(QKeySequence.StandardKey.Copy)
        action.setShortcutContext(Qt.ShortcutContext.WidgetShortcut)
        action.triggered.connect(self.copy)
        self.list.addAction(action)
        self.list.setContextMenuPolicy(Qt.ContextMenuPolicy.ActionsContextMenu)

    def _dress(self) -> None:
        side = self.fontMetrics().ascent()
        for severity, button in self.filters.items():
            button.setIcon(_icon(severity, side, self.devicePixelRatioF()))
            button.setIconSize(QSize(side, side))
        self.list.fit()
        self._arrange()
        self.list.scheduleDelayedItemsLayout()


class _FindingView(QListView):
    chosen = Signal(QModelIndex)
    opened = Signal(QModelIndex)

    def __init__(self, model: SortedFindings) -> None:
        super().__init__()
        self._whole = False
        self.setModel(model)
        self.setItemDelegate(FindingPainter(self))
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.viewport().setAutoFillBackground(False)
        self.setAccessibleName(tr("Findings"))
        self.clicked.connect(self.chosen)
        self.activated.connect(self.chosen)
        self.doubleClicked.connect(self.opened)

    def sizeHint(self) -> QSize:
        """No higher than it has to be; it takes what is left over."""
        return QSize(self.minimumWidth(), self.minimumHeight())

    def show_whole(self, whole: bool) -> None:
        """Whether it is as high as all its rows, for something around it that scrolls; else it scrolls itself."""
        if whole != self._whole:
            self._whole = whole
            self.fit()

    def spare(self) -> int:
        """How much higher than it has to be it asks to be."""
        return 0 if self.isHidden() else self.minimumHeight() - self._least()

    def fit(self) -> None:
        """Ask for the height that it needs."""
        most = self.fontMetrics().lineSpacing() * _MOST_LINES
        rows = min(self.contentsSize().height(), most) if self._whole else 0
        self.setMinimumHeight(max(self._least(), rows))

    def updateGeometries(self) -> None:
        """Its rows are others now, or wrapped in another width."""
        super().updateGeometries()
        self.fit()

    def _least(self) -> int:
        return self.fontMetrics().lineSpacing() * _LEAST_LINES

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Moving through the list moves through time."""
        before = self.currentIndex()
        super().keyPressEvent(event)
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and before.isValid():
            self.opened.emit(before)
        if self.currentIndex() != before and self.currentIndex().isValid():
            self.chosen.emit(self.currentIndex())


def _icon(severity: Severity, side: int, ratio: float) -> QIcon:
    picture = QPixmap(round(side * ratio), round(side * ratio))
    picture.setDevicePixelRatio(ratio)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    draw_mark(painter, QPointF(side / 2, side / 2), side - 2, severity, theme.colour(severity))
    painter.end()
    return QIcon(picture)
