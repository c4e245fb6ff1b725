"""Brings a live system into the window: its board grows, its strip tells, its alarms call."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QDialog, QFileDialog

from desktop.window.live.alarm_bell import AlarmBell
from desktop.window.live.chime import Chime, Notifier
from desktop.window.live.leaving import LeaveBox
from desktop.window.live.watching import Open, Watching
from desktop.window.live.wish import Wish
from desktop.window.opening import Ready
from desktop.words import Phrase, tr

if TYPE_CHECKING:
    from desktop.window.main import MainWindow


class Live(QObject):
    """What the window does while it watches. One for each window; its parts may be made anew."""

    def __init__(self, window: MainWindow, open_one: Open | None = None) -> None:
        super().__init__(window)
        self._window = window
        self.watching = Watching(self, open_one)
        self.chime = Chime(self)
        self.notifier = Notifier(window)
        self.bell = AlarmBell(self._ring, self.notifier.tell, parent=self)
        self.bell.sounds = window.settings.alarm_sound
        self.watching.began.connect(self._begin)
        self.watching.appeared.connect(self._appear)
        self.watching.grew.connect(self._grow)
        self.watching.told.connect(self._tell)
        self.watching.failed.connect(self._fail)
        self.bell.changed.connect(self._show_alarms)

    @property
    def on(self) -> bool:
        """True while a system is watched."""
        return self.watching.watch is not None

    @property
    def growing(self) -> bool:
        """True while what is shown is what is watched."""
        return self.watching.ready is not None and self.watching.ready is self._window.ready

    # What the user asks for

    def watch(self, wish: Wish) -> None:
        """Watch a system. What is shown stays until it is found to be possible; a recording is asked for first."""
        if self.watching.recording_on:
            self.leave_for(lambda: self._watch(wish))
        else:
            self._watch(wish)

    def leave_for(self, asked: Callable[[], None]) -> LeaveBox | None:
        """Do what takes the place of what is watched: at once where nothing is, else when the user agrees to it.

        Returns the question, which is shown over the window; None where there is nothing to ask.
        """
        if not self.on:
            asked()
            return None
        box = LeaveBox(self.watching, asked, self._window)
        self._window.shown_dialog(box)
        return box

    def keeps_open(self) -> bool:
        """Whether the window must ask before it is closed, since it records; it is asked then."""
        if not self.watching.recording_on:
            return False
        if not any(box.isVisible() for box in self._window.findChildren(LeaveBox)):
            self._window.shown_dialog(LeaveBox(self.watching, self._window.end, self._window, closes=True))
        return True

    def stop(self) -> None:
        """Watch no more; what was watched stays to be looked at."""
        was_shown = self.growing
        self.watching.stop()
        self.notifier.hush()
        self.bell.begin()
        window = self._window
        window.strip.show_it(False)
        if was_shown:
            window.board.end_growth()
        elif window.ready is None:
            window.stack.setCurrentWidget(window.empty)
        window.menus.set_live(False)

    def close(self) -> None:
        """Stop, and end every thread."""
        self.notifier.hush()
        self.watching.close()

    def go_live(self) -> None:
        """Go to the newest reading, and with it."""
        if self.growing:
            self._window.board.go_live()

    def acknowledge(self) -> None:
        """The user knows of what calls."""
        self.notifier.hush()
        self.bell.acknowledge()

    def set_sounds(self, sounds: bool) -> None:
        """Whether alarms are heard."""
        self._window.settings.alarm_sound = sounds
        self.bell.sounds = sounds

    def ask_record(self) -> None:
        """Let the user choose the file to record into."""
        if not self.on:
            return
        window = self._window
        dialog = window.file_dialog(tr("Record to"), [tr("Recordings (*.csv)")])
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix("csv")
        dialog.selectFile(f"{datetime.now():%Y-%m-%d-%H%M}.csv")
        # Rows are added to a file that is there already; nothing in it is lost.
        dialog.setOption(QFileDialog.Option.DontConfirmOverwrite)
        dialog.fileSelected.connect(self._record)
        dialog.open()

    def stop_recording(self) -> None:
        """Close the recording whole."""
        self.watching.stop_recording()

    def ask_connect(self) -> QDialog:
        """Let the user find the devices to watch."""
        # Few connect anew each day, and the drivers take their time to be imported.
        from desktop.window.live.connect.dialog import ConnectDialog

        window = self._window
        dialog = ConnectDialog(window.settings, window)
        dialog.watch_asked.connect(self.watch)
        return window.shown_dialog(dialog)

    # What happens

    def _watch(self, wish: Wish) -> None:
        self._window.notice.hide()
        self.watching.open(wish)

    def _record(self, name: str) -> None:
        self._window.settings.folder = str(Path(name).parent)
        self.watching.record(Path(name))

    def _begin(self) -> None:
        window = self._window
        window.opener.stop()
        window.notice.hide()
        window.ready = None
        window.settings.remember_source(self.watching.wish)
        self.bell.begin()
        window.stack.setCurrentWidget(window.first)
        window.menus.set_open(False)
        window.menus.set_live(True)
        window.board.end_growth()
        window.strip.set_pinned(True)
        window.strip.show_it(True)
        window.setWindowTitle(f"{self.watching.name} – Headrace")
        self._tell()

    def _appear(self, ready: Ready) -> None:
        self._window.show_live(ready)
        self._tell()
        self._look()

    def _grow(self) -> None:
        if self.growing:
            self._window.board.grow()
            self._look()

    def _look(self) -> None:
        review = self.watching.ready.review
        self.bell.look(review, review.revision)

    def _tell(self) -> None:
        window = self._window
        window.strip.show_watching(self.watching)
        window.strip.alarms.blink(moving=window.settings.motion)
        if self.watching.ready is None:
            window.first.show_watching(self.watching)
        elif self.growing:
            window.board.set_lull(self.watching.lull)
            self._look()

    def _fail(self, line: str) -> None:
        self._window.notice.show_error(line)

    def _ring(self) -> None:
        self.chime.ring()

    def _show_alarms(self) -> None:
        watch = self.watching.watch
        zone = watch.site.zone if watch is not None else UTC
        self._window.strip.alarms.show_alarms(self.bell.alarms, zone)

    # Parts that are made anew

    def connect_parts(self) -> None:
        """The window has other parts: a strip, a board, a page for the beginning."""
        window = self._window
        strip = window.strip
        strip.live_asked.connect(self.go_live)
        strip.record_asked.connect(self.ask_record)
        strip.recording_over_asked.connect(self.stop_recording)
        strip.stop_asked.connect(self.stop)
        strip.acknowledged.connect(self.acknowledge)
        window.board.pinned.connect(strip.set_pinned)
        window.empty.connect_asked.connect(self.ask_connect)
        window.menus.set_live(self.on)
        if self.on:
            strip.show_it(True)
            self._tell()
            self._show_alarms()
            if self.watching.ready is None:
                window.stack.setCurrentWidget(window.first)

    def origin(self) -> str:
        """Where what is shown comes from."""
        site, name = self.watching.watch.site.site.name, self.watching.watch.name
        return str(Phrase("{name} · live", name=f"{site} · {name}" if site else name))
