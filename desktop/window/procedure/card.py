"""What is to be done now, in large words: what is wrong first, the step that comes next, its caution beside it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QVBoxLayout, QWidget

from desktop.diagnosis.finding import Severity
from desktop.procedure.as_text import duties_text, place_text, step_text, unseen_text
from desktop.procedure.course import Standing, how_it_ended, said
from desktop.procedure.situation import StepState
from desktop.review.sentence import joined
from desktop.window.parts.panel import Panel
from desktop.window.parts.text import Text
from desktop.window.parts.told import Told
from desktop.window.style import theme
from desktop.words import Phrase, tr

_BESIDE = 46
"""Where there is room for so many characters of the step, its caution stands beside it."""
_ROOM, _EDGE = 10, 3


class Banner(QWidget):
    """What is wrong now: the fact, and what to do about it at once."""

    def __init__(self, size: float, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._severity: Severity | None = None
        self.told = Told(1.45 * size)
        self.then = Text(wrap=True, size=1.15 * size)
        self.besides = Text(wrap=True, tone="muted", size=size)
        column = QVBoxLayout(self)
        column.setContentsMargins(_ROOM, _ROOM, _ROOM, _ROOM)
        column.setSpacing(6)
        column.addWidget(self.told)
        column.addWidget(self.then)
        column.addWidget(self.besides)

    def show_standing(self, standing: Standing) -> None:
        """Show the most urgent; nothing where nothing is wrong."""
        alarm = standing.alarm
        self.setVisible(alarm is not None)
        self._severity = None if alarm is None else alarm.severity
        if alarm is None:
            self.told.say(None, "")
            return
        self.told.say(alarm.severity, str(alarm.fact))
        self.then.show_text(str(alarm.then))
        self.then.setVisible(bool(alarm.then))
        others = joined(*dict.fromkeys(one.fact for one in standing.alarms[1:] if one.fact != alarm.fact))
        self.besides.show_text(str(Phrase("Besides: {facts}", facts=others)) if others else "")
        self.besides.setVisible(bool(others))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """A frame in the colour of what it says."""
        if self._severity is None:
            return
        painter = QPainter(self)
        painter.fillRect(self.rect(), theme.colour("standing"))
        painter.setPen(QPen(theme.colour(self._severity), _EDGE))
        half = _EDGE // 2 + 1
        painter.drawRect(self.rect().adjusted(half, half, -half, -half))


class Card(QWidget):
    """Says what comes next.

    size  of its words, as a share of the usual ones
    """

    def __init__(self, size: float, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.banner = Banner(size)
        self.place = Text(tone="muted", wrap=True, size=size)
        self.told = Told(1.45 * size)
        self.state = Text(wrap=True, size=1.15 * size)
        self.shown = Text(wrap=True, size=1.15 * size)
        self.why = Text(tone="muted", wrap=True, size=size)
        self.caution = Text(wrap=True, size=1.15 * size)
        self.unseen = Text(wrap=True, size=size)
        self.duties = Text(wrap=True, size=size)
        self._lay_out()

    def show_standing(self, standing: Standing) -> None:
        """Show how it stands."""
        self.banner.show_standing(standing)
        following = standing.next
        for part in (self.place, self.told):
            part.setVisible(not standing.held)
        if following is not None:
            self._show_step(following)
        else:
            self._show_end(standing)
        for line, words in ((self.shown, shown_text(standing)), (self.unseen, unseen_text(standing))):
            line.show_text(words)
            line.setVisible(bool(words))
        self.duties.show_text(duties_text(standing))
        self.duties.setVisible(bool(self.duties.text()))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The caution beside the step where there is room."""
        super().resizeEvent(event)
        self._turn()

    def changeEvent(self, event: QEvent) -> None:
        """Another font needs other room."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._turn()

    def _turn(self) -> None:
        room = self.told.line.fontMetrics().averageCharWidth() * _BESIDE
        beside = self.width() >= room
        way = QBoxLayout.Direction.LeftToRight if beside else QBoxLayout.Direction.TopToBottom
        if self._pair.direction() != way:
            self._pair.setDirection(way)

    def _show_step(self, following: StepState) -> None:
        step = following.step
        self.place.show_text(place_text(step))
        self.told.say(None, step_text(step))
        words = str(said(following))
        self.state.show_text(words)
        self.state.setVisible(bool(words))
        self.why.show_text(str(step.why))
        self.why.setVisible(True)
        self.caution.show_text(str(step.caution))
        self.panel.setVisible(bool(step.caution))

    def _show_end(self, standing: Standing) -> None:
        self.place.show_text("")
        self.told.say(None, "" if standing.held else str(how_it_ended(standing)))
        for part in (self.state, self.why, self.panel):
            part.setVisible(False)

    def _lay_out(self) -> None:
        self.panel = Panel(tr("Caution"))
        self.panel.body.addWidget(self.caution)
        self.panel.body.addStretch(1)
        words = QVBoxLayout()
        words.setSpacing(6)
        words.addWidget(self.told)
        words.addWidget(self.state)
        words.addStretch(1)
        # Above what may have to be scrolled to stands what can hurt.
        self._pair = QBoxLayout(QBoxLayout.Direction.TopToBottom)
        self._pair.setSpacing(_ROOM)
        self._pair.addLayout(words, 3)
        self._pair.addWidget(self.panel, 2, Qt.AlignmentFlag.AlignTop)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(self.banner)
        column.addWidget(self.place)
        column.addLayout(self._pair)
        for line in (self.shown, self.duties, self.unseen, self.why):
            column.addWidget(line)
        column.addStretch(1)


def shown_text(standing: Standing) -> str:
    """What the readings show; empty where none are followed."""
    return str(Phrase("Now: {shown}", shown=standing.shown)) if standing.shown else ""
