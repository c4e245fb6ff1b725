"""The one sentence: what is going on at the cursor, in plain words, and the time that it is about."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from desktop.diagnosis.finding import Finding
from desktop.review.moment import Moment
from desktop.review.sentence import finding_told
from desktop.window.parts.panel import Panel
from desktop.window.parts.severity_mark import Mark
from desktop.window.parts.text import Text
from desktop.window.parts.times import Times
from desktop.window.style.look import look
from desktop.words import Phrase, kept_together, template, tr

_GAP = 3
_MOST_KEPT = 60
_USUAL = template(
    "Forecast: 80 % at 14:52, give or take 12 min. 100 % at 15:58, give or take 34 min. The charger limit holds "
    "the charge, and the AC input limit whenever the house takes more."
)
"""A forecast of usual length, for which there is room."""
_WORDS = {"act now": template("Act now"), "attend": template("Attend"), "note": template("Note")}


class SentencePanel(Panel):
    """Headline, detail and clock. A screen reader is told when something new is said.

    The panel grows with what it has to say and stays so, so that nothing below it jumps to and fro.
    """

    spoken_role = QAccessible.Role.StaticText

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("", parent)
        self._times = Times()
        self._said = ""
        self._calm = False
        self.mark = Mark(1.9)
        self.word = Text(size=0.85, bold=True)
        self.words = _Words()
        self.headline, self.detail = self.words.headline, self.words.detail
        self.ahead = self.words.ahead
        self.clock = Text(size=1.6, bold=True)
        self.day = Text(size=0.92, tone="muted")
        self._build()
        look().changed.connect(self._measure_anew)
        self.setAccessibleName(tr("What is going on"))
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.frame_focus(self)

    def _build(self) -> None:
        row = QHBoxLayout()
        row.setSpacing(14)
        sign = QVBoxLayout()
        sign.setSpacing(2)
        sign.addWidget(self.mark, 0, Qt.AlignmentFlag.AlignHCenter)
        sign.addWidget(self.word, 0, Qt.AlignmentFlag.AlignHCenter)
        sign.addStretch(1)
        time = QVBoxLayout()
        time.setSpacing(2)
        right = Qt.AlignmentFlag.AlignRight
        time.addWidget(self.clock, 0, right)
        time.addWidget(self.day, 0, right)
        time.addStretch(1)
        row.addLayout(sign)
        row.addWidget(self.words, 1)
        row.addLayout(time)
        self.body.addLayout(row)

    def set_times(self, times: Times) -> None:
        """The site's clock; a new recording begins, so the panel may shrink."""
        self._times = times
        self.words.measure_anew()

    def make_room(self, findings: Sequence[Finding]) -> None:
        """Keep room for what will be said of these findings, so that nothing below jumps when it is."""
        told = [one for one in findings if one.severity != "note"][:_MOST_KEPT]
        self.words.kept = [tuple(map(str, finding_told(one, Phrase("")))) for one in told]
        self.words.measure_anew()

    def set_foretelling(self, foretells: bool) -> None:
        """Whether there will be anything to say of what is to come: then there is always room for it."""
        self.words.foretells = foretells
        self.words.measure_anew()

    def set_calm(self, calm: bool) -> None:
        """During a replay only what is new is announced, not every changed number."""
        self._calm = calm

    def show_moment(self, moment: Moment) -> None:
        """Say what this moment is about."""
        severity = moment.severity
        self.mark.show_severity(severity)
        self.mark.setVisible(severity is not None)
        self.word.setVisible(severity is not None)
        if severity is not None:
            self.word.show_text(tr(_WORDS[severity]))
            self.word.set_tone(severity)
        self.headline.show_text(kept_together(str(moment.headline)))
        self.detail.show_text(kept_together(str(moment.detail)))
        self.clock.show_text(self._times.clock(moment.time))
        self.day.show_text(self._times.day(moment.time))
        self.words.place()
        self._announce(moment)

    def show_ahead(self, told: Sequence[str]) -> None:
        """Say what is to come; nothing where it isn't known."""
        line = str(Phrase("Forecast: {told}", told=" ".join(told))) if told else ""
        if kept_together(line) != self.ahead.text():
            self.ahead.show_text(kept_together(line))
            self.words.place()
            self._describe()

    def _describe(self) -> str:
        said = f"{self.headline.text()} {self.detail.text()}"
        self.setAccessibleDescription(f"{said} {self.ahead.text()}".strip())
        return said

    def _announce(self, moment: Moment) -> None:
        said = self._describe()
        key = moment.headline.template if self._calm else said
        if key == self._said:
            return
        self._said = key
        if QAccessible.isActive():
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, said))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """In another width it may be lower."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.words.measure_anew()

    def _measure_anew(self) -> None:
        self.words.measure_anew()


class _Words(QWidget):
    """Headline above detail above what is to come, each as high as its words need. It gets higher, not lower."""

    def __init__(self) -> None:
        super().__init__()
        self.headline = Text(size=1.45, bold=True, wrap=True, parent=self)
        self.detail = Text(tone="muted", wrap=True, parent=self)
        self.ahead = Text(wrap=True, parent=self)
        self.foretells = False
        self.kept: list[tuple[str, str]] = []
        for part in (self.headline, self.detail, self.ahead):
            part.setAlignment(Qt.AlignmentFlag.AlignTop)

    def measure_anew(self) -> None:
        """Forget how much has been needed."""
        self.setMinimumHeight(0)
        self.place()

    def place(self) -> None:
        """Put the words in their places."""
        top = 0
        for part in (self.headline, self.detail):
            height = max(part.heightForWidth(self.width()), 0)
            part.setGeometry(0, top, self.width(), height)
            top += height + _GAP
        told = max(self.ahead.heightForWidth(self.width()), 0) if self.ahead.text() else 0
        self.ahead.setGeometry(0, top, self.width(), told)
        kept = max(told, self._height_ahead(tr(_USUAL)) if self.foretells else 0)
        top += kept + _GAP if kept else 0
        if not self.minimumHeight():
            self.setMinimumHeight(self._height_kept())
        self.setMinimumHeight(max(top - _GAP, self.minimumHeight()))

    def _height_kept(self) -> int:
        """How high the highest of what will be said of findings is in this width."""
        heights = [
            self._height(self.headline, headline) + _GAP + self._height(self.detail, detail)
            for headline, detail in self.kept
        ]
        return max(heights, default=0)

    def _height_ahead(self, text: str) -> int:
        """How high a forecast is in this width."""
        return self._height(self.ahead, text)

    def _height(self, part: Text, text: str) -> int:
        if not text:
            return 0
        room = QRect(0, 0, max(1, self.width()), 1 << 20)
        flags = int(Qt.TextFlag.TextWordWrap)
        return part.fontMetrics().boundingRect(room, flags, kept_together(text)).height()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Another width, as when the mark beside them comes or goes, breaks lines elsewhere."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.place()
