"""The live strip: how the source is doing, how old its newest reading is, recording, and what calls."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QPushButton, QWidget

from desktop.window.live import state_words
from desktop.window.live.alarm_row import AlarmRow
from desktop.window.live.state_mark import StateMark
from desktop.window.live.watching import Watching, now_ns
from desktop.window.parts.panel import Panel
from desktop.window.parts.text import Elided, Text
from desktop.window.style.look import look
from desktop.words import tr

_GAP = 8
_LEAST_WORDS = 22
"""Characters of the source's line that always have room beside the rest."""
_DISC, _RING, _RECORDS = "●", "○", "◉"


class LiveStrip(Panel):
    """Always in sight while a system is watched. `framed` is the strip with the room around it.

    live_asked            go to the end, and with it
    record_asked          record into a file
    recording_over_asked  close the recording
    stop_asked            watch no more
    acknowledged          the user knows of what calls
    """

    live_asked = Signal()
    record_asked = Signal()
    recording_over_asked = Signal()
    stop_asked = Signal()
    acknowledged = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("", parent)
        self.setAccessibleName(tr("Live"))
        self.mark = StateMark()
        self.word = Text(bold=True)
        self.line = Elided()
        self.age = Text(tone="muted")
        self.recorded = Elided(tone="muted")
        self.live = _button(self.live_asked.emit)
        self.record = _button(self._recording)
        self.stop = _button(self.stop_asked.emit)
        self.stop.setText(tr("Stop watching"))
        self.stop.setAccessibleName(tr("Stop watching"))
        self.alarms = AlarmRow()
        self.alarms.acknowledged.connect(self.acknowledged)
        self._records = False
        self._pinned = True
        self._said = ""
        self._narrow: bool | None = None
        self._lay_out()
        self.set_pinned(True)
        self._show_recording("", False, False)
        look().changed.connect(self._dress)
        self.framed = QWidget()
        around = QHBoxLayout(self.framed)
        around.setContentsMargins(_GAP, _GAP, _GAP, 0)
        around.addWidget(self)
        self.framed.hide()

    def show_it(self, shown: bool) -> None:
        """Show the strip, or take it away."""
        self.framed.setVisible(shown)

    def _lay_out(self) -> None:
        self.body.setContentsMargins(12, 5, 12, 5)
        self._both = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._both.setSpacing(8)
        said = QHBoxLayout()
        said.setSpacing(8)
        said.addWidget(self.mark)
        said.addWidget(self.word)
        said.addWidget(self.line, 3)
        said.addWidget(self.age)
        does = QHBoxLayout()
        does.setSpacing(8)
        does.addWidget(self.live)
        does.addWidget(self.record)
        does.addWidget(self.recorded, 2)
        does.addWidget(self.stop)
        self._both.addLayout(said, 3)
        self._both.addLayout(does, 2)
        self.body.addWidget(self.alarms)
        self.body.addLayout(self._both)

    # What is shown

    def show_watching(self, watching: Watching) -> None:
        """How it is doing now."""
        state = watching.state
        if state is None:
            return
        stale = watching.lull is not None
        phase = "stale" if stale and state.phase == "reading" else state.phase
        word = state_words.phase_word(state.phase, stale)
        tone = "text" if phase in ("reading", "connecting") and not stale else "attend"
        self.mark.show_phase(phase, tone)
        self.word.show_text(word)
        self.word.set_tone(tone)
        self.line.show_text(state_words.state_text(state, watching.name, watching.why, now_ns()))
        self.age.show_text(state_words.age_text(watching.age_s))
        self.age.set_tone("attend" if stale else "muted", bold=stale)
        self._keep_width(self.age)
        recorded = watching.recorded
        trouble = recorded is not None and bool(recorded.trouble)
        text = state_words.recorded_text(recorded, watching.recording_on)
        self._show_recording(text, watching.recording_on, trouble)
        self._announce(f"{word} {watching.why}".strip())
        self._arrange()

    def set_pinned(self, pinned: bool) -> None:
        """Whether the board goes with the end."""
        self._pinned = pinned
        text = f"{_DISC} {tr('Live')}" if pinned else f"{_RING} {tr('Back to live')}"
        self.live.setText(text)
        self.live.setAccessibleName(tr("Live") if pinned else tr("Back to live"))
        told = tr("What is shown goes with the newest reading.")
        self.live.setToolTip(told if pinned else tr("Go to the newest reading, and with it (L)"))
        self._keep_width(self.live)

    def _show_recording(self, text: str, on: bool, trouble: bool) -> None:
        self._records = on
        self.record.setText(f"{_RECORDS} {tr('Stop recording')}" if on else tr("Record…"))
        self.record.setAccessibleName(tr("Stop recording") if on else tr("Record"))
        self.recorded.show_text(f"▲ {text}" if trouble else text)
        self.recorded.set_tone("act now" if trouble else "muted")
        self.recorded.setAccessibleName(text)

    def _announce(self, said: str) -> None:
        if said == self._said:
            return
        self._said = said
        self.setAccessibleDescription(said)
        if QAccessible.isActive():
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, said))

    def _recording(self) -> None:
        if self._records:
            self.recording_over_asked.emit()
        else:
            self.record_asked.emit()

    # Where it is shown

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The buttons stand beside the words where there is room, else below them."""
        super().resizeEvent(event)
        self._arrange()

    def minimumSizeHint(self) -> QSize:
        """As narrow as words above buttons allow."""
        return QSize(min(self._said_width(), self._does_width()) + 24, super().minimumSizeHint().height())

    def _said_width(self) -> int:
        words = self.fontMetrics().averageCharWidth() * _LEAST_WORDS
        return words + sum(part.sizeHint().width() + 8 for part in (self.mark, self.word, self.age))

    def _does_width(self) -> int:
        words = self.fontMetrics().averageCharWidth() * (_LEAST_WORDS if self.recorded.text() else 1)
        return words + sum(part.sizeHint().width() + 8 for part in (self.live, self.record, self.stop))

    def _arrange(self) -> None:
        narrow = self._said_width() + self._does_width() > self.width() - 24
        if narrow != self._narrow:
            self._narrow = narrow
            kinds = QBoxLayout.Direction
            self._both.setDirection(kinds.TopToBottom if narrow else kinds.LeftToRight)

    def _keep_width(self, part: QWidget) -> None:
        """What it said before needs room again: it gets wider, not narrower."""
        part.setMinimumWidth(max(part.minimumWidth(), part.sizeHint().width()))

    def _dress(self) -> None:
        for part in (self.age, self.live):
            part.setMinimumWidth(0)
            self._keep_width(part)
        self._narrow = None
        self._arrange()


def _button(act: Callable[[], None]) -> QPushButton:
    button = QPushButton()
    button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    button.clicked.connect(act)
    return button
