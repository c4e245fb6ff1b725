"""The replay bar: play, pause, speed, findings, loop, and where in time we are."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from datetime import UTC, tzinfo

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLineEdit, QToolButton, QToolTip, QWidget

from desktop.picture.replay import SPEEDS, ReplayClock, next_of, position_text, previous_of, typed_instant
from desktop.picture.trends.source import Band
from desktop.teaching.hiding import judged
from desktop.window.replay.track import Note, ReplayTrack
from desktop.words import tr
from recordings.errors import UsageError

_FRAME_MS = 33
_TARGET = 26


class ReplayBar(QWidget):
    """Moves one instant through a recording.

    moved            the instant is another one (int, UTC nanoseconds), by the user or by time passing
    playing_changed  plays or stands
    refused          a time was typed that is none; says why
    held             it goes with the end of what grows, and the user wants it to stay here
    waits            it can't play on from here, since nothing may be seen yet of what comes next
    beyond           a time was typed that may not be seen yet (int, UTC nanoseconds)
    """

    moved = Signal(object)
    playing_changed = Signal(bool)
    refused = Signal(str)
    held = Signal()
    waits = Signal()
    beyond = Signal(object)

    def __init__(self, parent: QWidget | None = None, now: Callable[[], float] = time.monotonic) -> None:
        super().__init__(parent)
        self._zone: tzinfo = UTC
        self._findings: list[Band] = []
        self._instants: list[int] = []
        self._ends = (0, 0)
        self._hidden: int | None = None
        self.following = False
        self.clock = ReplayClock(0, 0, now)
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.setInterval(_FRAME_MS)
        self._timer.timeout.connect(self.frame)
        self._build()
        self.setAccessibleName(tr("Replay"))
        self._show_state()

    def set_recording(self, first: int, last: int, zone: tzinfo) -> None:
        """The ends of the recording (UTC nanoseconds) and its clock. The instant stays where it can."""
        self._zone, self._ends = zone, (first, last)
        self.track.set_range_of_time(first, last)
        self.hide_after(self._hidden)

    def hide_after(self, instant: int | None) -> None:
        """Play no further than an instant (UTC nanoseconds), and mark and step to no finding; None: to the end."""
        self._hidden = instant
        first, last = self._ends
        self.clock.extend(first, last if instant is None else min(last, instant))
        self._instants = [band.start for band in judged(self._findings, instant)]
        self.track.hide_after(instant)
        self._show_state()

    def set_findings(self, findings: Sequence[Band], notes: Sequence[Note] = ()) -> None:
        """Findings to mark and to step to, and notes to mark."""
        self._findings = sorted(findings, key=lambda band: band.start)
        self._instants = [band.start for band in judged(self._findings, self._hidden)]
        self.track.set_marks(self._findings, notes)
        self._show_state()

    def set_instant(self, instant: int) -> None:
        """Follow a cursor that was moved elsewhere; nothing is emitted."""
        self.clock.move(instant)
        self._show_state()

    def set_following(self, following: bool) -> None:
        """Whether the instant goes with the end of a recording that grows: time passes by itself then."""
        if following != self.following:
            self.following = following
            self._show_state()

    def set_theme(self, theme: str) -> None:
        """`light` or `dark`; buttons follow the application's palette."""
        self.track.set_theme(theme)

    @property
    def instant(self) -> int:
        """Where it stands, UTC nanoseconds."""
        return self.clock.instant

    def toggle(self) -> None:
        """Play where it stands, pause where it plays; hold where it goes with the end."""
        if self.following:
            self.held.emit()
            return
        if self.clock.playing:
            self.clock.pause()
        elif self._hidden is not None and self.clock.instant >= self.clock.last:
            self.waits.emit()
            return
        else:
            self.clock.play()
        self._state_changed()

    def set_speed(self, speed: int) -> None:
        """Recorded seconds per second."""
        self.clock.set_speed(speed)
        self._speed.setCurrentText(_speed_text(self.clock.speed))

    def frame(self) -> None:
        """Time has passed: show where that leads."""
        before = self.clock.instant
        after = self.clock.tick()
        if after != before:
            self._tell()
        if not self.clock.playing:
            self._state_changed()

    def go(self, instant: int) -> None:
        """Move to an instant, and say so."""
        self.clock.move(instant)
        self._tell()

    def type_time(self) -> None:
        """Let the user type the time to go to."""
        self._time.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self._time.selectAll()

    def next_finding(self) -> None:
        """Go to the start of the next finding."""
        index = next_of(self._instants, self.clock.instant)
        if index is not None:
            self.go(self._instants[index])

    def previous_finding(self) -> None:
        """Go to the start of the finding before."""
        index = previous_of(self._instants, self.clock.instant)
        if index is not None:
            self.go(self._instants[index])

    def mark_a(self) -> None:
        """The loop begins here."""
        self.clock.mark_a()
        self._show_state()

    def mark_b(self) -> None:
        """The loop ends here."""
        self.clock.mark_b()
        self._show_state()

    def clear_loop(self) -> None:
        """No loop."""
        self.clock.clear_loop()
        self._show_state()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Space, N and P, A and B, Escape, + and −, wherever in the bar the focus is."""
        actions = {
            Qt.Key.Key_Space: self.toggle,
            Qt.Key.Key_N: self.next_finding,
            Qt.Key.Key_P: self.previous_finding,
            Qt.Key.Key_A: self.mark_a,
            Qt.Key.Key_B: self.mark_b,
            Qt.Key.Key_Escape: self.clear_loop,
            Qt.Key.Key_Plus: lambda: self._shift_speed(1),
            Qt.Key.Key_Minus: lambda: self._shift_speed(-1),
        }
        action = actions.get(Qt.Key(event.key()))
        if action is None or event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            super().keyPressEvent(event)
        else:
            action()

    def changeEvent(self, event: QEvent) -> None:
        """Another font: the time needs other room."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._show_state()

    def _build(self) -> None:
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(4)
        self._before = _button("◀|", tr("Previous finding"), "P", self.previous_finding)
        self._play = _button("▶", tr("Play"), tr("Space"), self.toggle)
        self._after = _button("|▶", tr("Next finding"), "N", self.next_finding)
        self._speed = QComboBox()
        self._speed.setAccessibleName(tr("Speed"))
        self._speed.setToolTip(tr("Recorded seconds per second (+ and −)"))
        self._speed.setMinimumHeight(_TARGET)
        self._speed.addItems([_speed_text(speed) for speed in SPEEDS])
        self._speed.setCurrentText(_speed_text(self.clock.speed))
        self._speed.activated.connect(lambda index: self.clock.set_speed(SPEEDS[index]))
        self.track = ReplayTrack()
        self.track.put.connect(self.go)
        self._time = QLineEdit()
        self._time.setAccessibleName(tr("Time"))
        self._time.setMinimumHeight(_TARGET)
        self._time.returnPressed.connect(self._jump)
        self._time.editingFinished.connect(self._show_state)
        self._a = _button("A", tr("Loop from here"), "A", self.mark_a)
        self._b = _button("B", tr("Loop to here"), "B", self.mark_b)
        self._no_loop = _button("×", tr("End the loop"), tr("Escape"), self.clear_loop)
        for part in (self._before, self._play, self._after, self._speed):
            row.addWidget(part)
        row.addWidget(self.track, 1)
        for part in (self._a, self._b, self._no_loop, self._time):
            row.addWidget(part)

    def _jump(self) -> None:
        try:
            instant = typed_instant(self._time.text(), self.clock.instant, self._zone)
        except UsageError as error:
            self._time.selectAll()
            self._time.setAccessibleDescription(str(error))
            QToolTip.showText(self._time.mapToGlobal(self._time.rect().bottomLeft()), str(error), self._time)
            self.refused.emit(str(error))
            return
        self._time.setModified(False)
        if self._hidden is not None and instant > self._hidden:
            self._show_state()
            self.beyond.emit(instant)
            return
        self.go(instant)

    def _shift_speed(self, steps: int) -> None:
        index = SPEEDS.index(self.clock.speed) + steps
        self.set_speed(SPEEDS[min(max(index, 0), len(SPEEDS) - 1)])

    def _tell(self) -> None:
        self._show_state()
        self.moved.emit(self.clock.instant)

    def _state_changed(self) -> None:
        if self.clock.playing:
            self._timer.start()
        else:
            self._timer.stop()
        self._show_state()
        self.playing_changed.emit(self.clock.playing)

    def _show_state(self) -> None:
        clock = self.clock
        self.track.set_instant(clock.instant)
        self.track.set_loop(*clock.ends)
        text = position_text(clock.instant, clock.first, clock.last, self._zone)
        self.track.setAccessibleDescription(text)
        if not (self._time.hasFocus() and self._time.isModified()):
            self._time.setText(text)
            self._time.setFixedWidth(self._time.fontMetrics().horizontalAdvance(text + "000"))
            self._time.setToolTip(tr("Type a time and press Enter: 14:03, 14:03:20 or 2026-02-14 14:03"))
        name = tr("Hold") if self.following else tr("Pause") if clock.playing else tr("Play")
        self._play.setText("❚❚" if clock.playing or self.following else "▶")
        self._play.setAccessibleName(name)
        self._play.setToolTip(f"{name} ({tr('Space')})")
        self._before.setEnabled(previous_of(self._instants, clock.instant) is not None)
        self._after.setEnabled(next_of(self._instants, clock.instant) is not None)
        self._no_loop.setEnabled(clock.ends != (None, None))


def _button(text: str, name: str, key: str, act: Callable[[], None]) -> QToolButton:
    button = QToolButton()
    button.setText(text)
    button.setAccessibleName(name)
    button.setToolTip(f"{name} ({key})")
    button.setMinimumSize(_TARGET, _TARGET)
    button.clicked.connect(act)
    return button


def _speed_text(speed: int) -> str:
    return f"{speed}×"
