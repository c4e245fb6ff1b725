"""Findings as rows: a model, sorted and filtered, and how a row is drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QPointF,
    QRect,
    QRectF,
    QSize,
    QSortFilterProxyModel,
    Qt,
)
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPen
from PySide6.QtWidgets import QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem

from desktop.diagnosis.finding import SEVERITIES, SEVERITY_NAMES, Finding
from desktop.window.parts.severity_shapes import draw_mark
from desktop.window.parts.times import Times
from desktop.window.style import fonts, theme
from desktop.window.style.look import look
from desktop.words import Phrase, duration, kept_together, template, tr

Index = QModelIndex | QPersistentModelIndex
Identity = tuple[str, int, str]

FINDING = Qt.ItemDataRole.UserRole
STANDING = Qt.ItemDataRole.UserRole + 1
SORTINGS: dict[str, str] = {
    "severity": template("By severity"),
    "time": template("By time"),
    "length": template("By length"),
}

_LATEST = 1 << 62
_GAP = 7


def finding_text(finding: Finding, times: Times) -> str:
    """A finding as lines of text."""
    span = f"{times.day(finding.start)} {times.clock(finding.start)}"
    if finding.end is not None:
        span += f" – {times.clock(finding.end)} ({duration((finding.end - finding.start) / 1e9)})"
    lines = [f"{span}  {tr(SEVERITY_NAMES[finding.severity])}: {finding.title}", str(finding.text)]
    lines += [str(part) for part in (finding.cause, finding.advice) if part]
    return "\n    ".join(lines)


class FindingModel(QAbstractListModel):
    """The findings of a review."""

    def __init__(self) -> None:
        super().__init__()
        self.times = Times()
        self._findings: Sequence[Finding] = ()
        self._standing: frozenset[int] = frozenset()

    @property
    def findings(self) -> Sequence[Finding]:
        """The findings, one for each row."""
        return self._findings

    def set_findings(self, findings: Sequence[Finding], times: Times) -> None:
        """Show these."""
        self.beginResetModel()
        self._findings, self.times, self._standing = findings, times, frozenset()
        self.endResetModel()

    def update(self, findings: Sequence[Finding], times: Times) -> None:
        """Show these instead. A finding that was there before keeps its row, and with it what is selected."""
        self.times = times
        wanted = {_identity(each): each for each in findings}
        kept = [each for each in self._findings if _identity(each) in wanted]
        if len(wanted) != len(findings) or _in_order(kept) != _in_order(findings, {*map(_identity, kept)}):
            self.set_findings(findings, times)
            return
        for row in reversed(range(len(self._findings))):
            if _identity(self._findings[row]) not in wanted:
                self._take_out(row)
        for row, finding in enumerate(findings):
            if row == len(self._findings) or _identity(self._findings[row]) != _identity(finding):
                self._put_in(row, finding)
            elif self._findings[row] != finding:
                self._findings = (*self._findings[:row], finding, *self._findings[row + 1 :])
                self.dataChanged.emit(self.index(row), self.index(row))

    def _take_out(self, row: int) -> None:
        self.beginRemoveRows(QModelIndex(), row, row)
        self._findings = (*self._findings[:row], *self._findings[row + 1 :])
        self._standing = frozenset(each - (each > row) for each in self._standing if each != row)
        self.endRemoveRows()

    def _put_in(self, row: int, finding: Finding) -> None:
        self.beginInsertRows(QModelIndex(), row, row)
        self._findings = (*self._findings[:row], finding, *self._findings[row:])
        self._standing = frozenset(each + (each >= row) for each in self._standing)
        self.endInsertRows()

    def set_standing(self, instant: int) -> frozenset[int]:
        """Mark those that stand at an instant (UTC nanoseconds). Rows that didn't stand before."""
        standing = frozenset(row for row, each in enumerate(self._findings) if each.stands_at(instant))
        before, self._standing = self._standing, standing
        for row in standing ^ before:
            self.dataChanged.emit(self.index(row), self.index(row), [STANDING])
        return standing - before

    def rowCount(self, parent: Index | None = None) -> int:
        """Rows."""
        return 0 if parent is not None and parent.isValid() else len(self._findings)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """What a row is, and how it reads."""
        finding = self._findings[index.row()]
        if role == FINDING:
            return finding
        if role == STANDING:
            return index.row() in self._standing
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return finding_text(finding, self.times)
        return None


def _identity(finding: Finding) -> Identity:
    """What stays the same of a finding while it goes on."""
    return finding.kind, finding.start, finding.channel


def _in_order(findings: Sequence[Finding], only: set[Identity] | None = None) -> list[Identity]:
    return [key for key in map(_identity, findings) if only is None or key in only]


class SortedFindings(QSortFilterProxyModel):
    """Chooses severities and orders."""

    def __init__(self, source: FindingModel) -> None:
        super().__init__()
        self._by = next(iter(SORTINGS))
        self._severities = frozenset(SEVERITIES)
        self.setSourceModel(source)
        self.sort(0)

    def sort_by(self, key: str) -> None:
        """A key of SORTINGS."""
        self._by = key
        self.invalidate()
        self.sort(0)

    def show_severities(self, severities: frozenset[str]) -> None:
        """Only these."""
        self._severities = severities
        self.invalidate()

    def lessThan(self, left: Index, right: Index) -> bool:
        """The chosen order; what is equal in it goes by time."""
        return self._key(left.data(FINDING)) < self._key(right.data(FINDING))

    def filterAcceptsRow(self, row: int, parent: Index) -> bool:
        """Of a chosen severity."""
        return self.sourceModel().index(row, 0, parent).data(FINDING).severity in self._severities

    def _key(self, finding: Finding) -> tuple[int, int]:
        if self._by == "severity":
            return SEVERITIES.index(finding.severity), finding.start
        if self._by == "length":
            return -((_LATEST if finding.end is None else finding.end) - finding.start), finding.start
        return finding.start, 0


@dataclass(frozen=True, slots=True)
class Block:
    """A piece of text in a row, wrapped to a height in pixels."""

    text: str
    font: QFont
    tone: str
    height: int


class FindingPainter(QStyledItemDelegate):
    """Draws a finding: its mark and time, title, what happened, why, and what to do.

    To break words into lines costs more than to draw them, so what was broken is kept until `forget`.
    """

    _SIDE = 10
    _TOP = 7

    def __init__(self, parent: QListView) -> None:
        super().__init__(parent)
        self._broken: dict[tuple[Identity, int], tuple[Finding, list[Block]]] = {}
        look().changed.connect(self.forget)
        parent.model().modelReset.connect(self.forget)

    def forget(self) -> None:
        """Words, letters or findings are others now."""
        self._broken.clear()

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """As high as its words need in the list's width."""
        width = _width(option)
        return QSize(width, self._height(index, width))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """One row."""
        finding: Finding = index.data(FINDING)
        rect = option.rect
        tone = theme.colour(finding.severity)
        painter.save()
        selected = bool(option.state & QStyle.StateFlag.State_Selected)
        if selected or index.data(STANDING):
            painter.fillRect(rect, theme.colour("selected" if selected else "standing"))
        if index.data(STANDING):
            painter.fillRect(QRect(rect.left(), rect.top(), 4, rect.height()), tone)
        painter.setPen(QPen(theme.colour("line"), 1))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        self._paint_words(painter, rect, index)
        if option.state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(theme.colour("text"), 1, Qt.PenStyle.DotLine))
            painter.drawRect(QRectF(rect).adjusted(1.5, 1.5, -1.5, -2.5))
        painter.restore()

    def _paint_words(self, painter: QPainter, rect: QRect, index: Index) -> None:
        finding: Finding = index.data(FINDING)
        side = _mark_size()
        y = rect.top() + self._TOP
        centre = QPointF(rect.left() + self._SIDE + side / 2, y + QFontMetrics(fonts.sized(1.0)).height() / 2)
        draw_mark(painter, centre, side, finding.severity, theme.colour(finding.severity))
        for block in self.blocks(index, rect.width()):
            painter.setFont(block.font)
            painter.setPen(theme.colour(block.tone))
            left = round(self._SIDE + side + _GAP)
            room = QRect(rect.left() + left, y, rect.width() - left - self._SIDE, block.height)
            painter.drawText(room, _FLAGS, block.text)
            y += block.height

    def _height(self, index: Index, width: int) -> int:
        return 2 * self._TOP + sum(block.height for block in self.blocks(index, width))

    def blocks(self, index: Index, width: int) -> list[Block]:
        """The pieces of text of a row that is so wide, from top to bottom."""
        finding: Finding = index.data(FINDING)
        key = _identity(finding), width
        known = self._broken.get(key)
        if known is None or known[0] is not finding:
            known = self._broken[key] = finding, self._break(finding, index, width)
        return known[1]

    def _break(self, finding: Finding, index: Index, width: int) -> list[Block]:
        times = index.model().sourceModel().times
        room = QRect(0, 0, round(width - 2 * self._SIDE - _mark_size() - _GAP), 1 << 20)
        parts = [
            (str(finding.title), fonts.sized(1.0, bold=True), "text"),
            (_when(finding, times), fonts.sized(0.92), finding.severity),
            (kept_together(str(finding.text)), fonts.sized(1.0), "text"),
            (kept_together(_why(finding)), fonts.sized(1.0, bold=finding.severity == "act now"), "text"),
            (kept_together(str(finding.advice)), fonts.sized(1.0), "muted"),
        ]
        return [
            Block(text, font, tone, QFontMetrics(font).boundingRect(room, _FLAGS, text).height() + 1)
            for text, font, tone in parts
            if text
        ]


_FLAGS = int(Qt.TextFlag.TextWordWrap)


def _why(finding: Finding) -> str:
    """The cause, so that it is seen to be one."""
    return str(Phrase("Why: {cause}", cause=finding.cause)) if finding.cause else ""


def _when(finding: Finding, times: Times) -> str:
    words = tr(SEVERITY_NAMES[finding.severity])
    start = times(finding.start)
    if finding.end is None:
        return str(Phrase("{severity} · {start}, still so", severity=words, start=start))
    seconds = (finding.end - finding.start) / 1e9
    return str(Phrase("{severity} · {start}, {span:time}", severity=words, start=start, span=seconds))


def _mark_size() -> float:
    return QFontMetrics(fonts.sized(1.0)).ascent() * 0.8


def _width(option: QStyleOptionViewItem) -> int:
    view = option.widget
    return view.viewport().width() if isinstance(view, QListView) else option.rect.width()
