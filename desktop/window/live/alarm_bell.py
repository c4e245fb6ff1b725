"""Alarms as the window has them: looked for in what grows, heard, told on the desktop, acknowledged."""

from __future__ import annotations

import time
from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from desktop.diagnosis.finding import Finding
from desktop.review import Review
from desktop.window.live.alarms import Alarms
from desktop.words import Phrase, tr


class AlarmBell(QObject):
    """Calls for new findings that ask to act now.

    changed  other alarms wait or stand
    """

    changed = Signal()

    def __init__(
        self,
        ring: Callable[[], None],
        tell: Callable[[str, str], None],
        now: Callable[[], float] = time.monotonic,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._ring, self._tell, self._now = ring, tell, now
        self.alarms = Alarms()
        self.sounds = True

    def begin(self) -> None:
        """Something else is watched."""
        self.alarms = Alarms()
        self.changed.emit()

    def look(self, review: Review, revision: int) -> None:
        """Look at the findings of a review as it is now."""
        last = int(review.recording.time[-1])
        calling = self.alarms.look(review.findings, last, revision, self._now())
        if calling:
            if self.sounds:
                self._ring()
            self._tell(*told(calling, review))
        self.changed.emit()

    def acknowledge(self) -> None:
        """Somebody knows of them: they are silent, and stay where they are listed."""
        self.alarms.acknowledge()
        self.changed.emit()


def told(calling: list[Finding], review: Review) -> tuple[str, str]:
    """Title and text of what is told on the desktop."""
    place = review.site.site.name or tr("Headrace")
    first = calling[0]
    title = Phrase("{place}: {finding}", place=place, finding=first.title)
    return str(title), f"{first.text} {first.advice}".strip()
