"""How often what is shown changes: at once when a person moves something, calmly while a replay runs."""

from __future__ import annotations

from PySide6.QtCore import QElapsedTimer, QObject, Qt, QTimer, Signal

CALM_MS = 500
_QUICK_MS = 15


class Pace(QObject):
    """Turns many requests to show into few. `due` is emitted when it is time to show what then is.

    quick_ms  how long at least from one to the next while it isn't calm
    """

    due = Signal()

    def __init__(self, parent: QObject | None = None, quick_ms: int = _QUICK_MS) -> None:
        super().__init__(parent)
        self._calm = False
        self._quick_ms = quick_ms
        self._since = QElapsedTimer()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self.now)

    def set_calm(self, calm: bool) -> None:
        """Calm: at most twice a second. What is still to be shown when it ends is shown then."""
        self._calm = calm
        if not calm and self._timer.isActive():
            self.now()

    def ask(self) -> None:
        """Something has changed and wants to be shown."""
        if self._timer.isActive():
            return
        least = CALM_MS if self._calm else self._quick_ms
        passed = self._since.elapsed() if self._since.isValid() else least
        if passed >= least:
            self.now()
        else:
            self._timer.start(least - passed)

    def now(self) -> None:
        """Show at once."""
        self._timer.stop()
        self._since.start()
        self.due.emit()

    def stop(self) -> None:
        """Show nothing more."""
        self._timer.stop()
