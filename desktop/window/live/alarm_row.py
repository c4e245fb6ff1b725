"""What calls, in a row: the newest alarm, how many there are, and whether somebody knows of them."""

from __future__ import annotations

from datetime import tzinfo

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QWidget

from desktop.window.live.alarms import Alarm, Alarms
from desktop.window.parts.text import Elided, Text
from desktop.window.style import theme
from desktop.words import Phrase, clock, tr


class AlarmRow(QWidget):
    """Shown while something calls, or is acknowledged and still stands.

    A full triangle that comes and goes calls; an empty one is acknowledged.

    acknowledged  the user knows of all of them
    """

    acknowledged = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.mark = AlarmMark()
        self.word = Text(bold=True, tone="act now")
        self.line = Elided(tone="act now")
        self.button = QPushButton(tr("Acknowledge"))
        self.button.setAccessibleName(tr("Acknowledge"))
        self.button.setToolTip(tr("Ends the sound. What was found stays listed."))
        self.button.clicked.connect(self.acknowledged)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        for part in (self.mark, self.word):
            row.addWidget(part)
        row.addWidget(self.line, 1)
        row.addWidget(self.button)
        self._calls = False
        self._lit = True
        self._said = ""
        self.hide()

    def show_alarms(self, alarms: Alarms, zone: tzinfo) -> None:
        """Show these, with the times of the site's clock."""
        calling, known = alarms.unacknowledged, alarms.acknowledged
        if self._calls != bool(calling):
            self._calls, self._lit = bool(calling), True
        shown = calling or known
        self.setVisible(bool(shown))
        if not shown:
            return
        count = str(len(shown))
        if calling:
            word = tr("Alarm") if len(shown) == 1 else str(Phrase("{count} alarms", count=count))
        else:
            known_as = tr("Acknowledged")
            word = known_as if len(shown) == 1 else str(Phrase("{count} acknowledged", count=count))
        self.word.show_text(word)
        tone = "act now" if calling else "muted"
        self.word.set_tone(tone)
        self.line.set_tone(tone)
        self.line.show_text(_line(shown[0], zone))
        self.button.setVisible(bool(calling))
        self._show_mark()
        self._announce(f"{word}: {self.line.text()}")

    def blink(self, *, moving: bool) -> None:
        """The mark of what calls comes and goes; it stands still where nothing may move."""
        self._lit = not self._lit if moving and self._calls else True
        self._show_mark()

    def _show_mark(self) -> None:
        self.mark.show_state(("calls" if self._calls else "known") if self._lit else "")

    def _announce(self, said: str) -> None:
        if said != self._said:
            self._said = said
            self.setAccessibleName(said)
            if QAccessible.isActive():
                QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, said))


class AlarmMark(QWidget):
    """A triangle: full while it calls, empty where somebody knows of it; or nothing."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.state = ""
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def show_state(self, state: str) -> None:
        """`calls`, `known` or "" for nothing."""
        if state != self.state:
            self.state = state
            self.update()

    def sizeHint(self) -> QSize:
        """A square as high as letters."""
        side = round(1.1 * self.fontMetrics().ascent())
        return QSize(side, side)

    def changeEvent(self, event: QEvent) -> None:
        """Another font: another size."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.updateGeometry()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The triangle."""
        if not self.state:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        edge = max(1.4, 0.12 * self.width())
        colour = theme.colour("act now" if self.state == "calls" else "muted")
        kinds = Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap, Qt.PenJoinStyle.MiterJoin
        painter.setPen(QPen(colour, edge, *kinds))
        painter.setBrush(colour if self.state == "calls" else Qt.BrushStyle.NoBrush)
        box = QRectF(self.rect()).adjusted(edge, edge, -edge, -edge)
        top = QPointF(box.center().x(), box.top())
        painter.drawPolygon(QPolygonF([top, box.bottomRight(), box.bottomLeft()]))


def _line(alarm: Alarm, zone: tzinfo) -> str:
    finding = alarm.finding
    start = clock(finding.start, zone)
    if finding.end is None:
        return str(Phrase("{finding}, since {start}", finding=finding.title, start=start))
    end = clock(finding.end, zone)
    return str(Phrase("{finding}, {start} to {end}", finding=finding.title, start=start, end=end))
