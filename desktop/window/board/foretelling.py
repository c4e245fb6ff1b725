"""When to look ahead: at once where the cursor comes to rest, and no oftener than once a second."""

from __future__ import annotations

from PySide6.QtCore import QElapsedTimer, QObject, QTimer, Signal

LEAST_MS = 1000


class Foretelling(QObject):
    """Turns many requests to look ahead into few. `due` is emitted when it is time to."""

    due = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._since = QElapsedTimer()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self.now)

    def ask(self) -> None:
        """The cursor stands somewhere where there is something to foretell."""
        if self._timer.isActive():
            return
        passed = self._since.elapsed() if self._since.isValid() else LEAST_MS
        if passed >= LEAST_MS:
            self.now()
        else:
            self._timer.start(LEAST_MS - passed)

    def now(self) -> None:
        """Look ahead at once."""
        self._timer.stop()
        self._since.start()
        self.due.emit()

    def stop(self) -> None:
        """Foretell nothing more."""
        self._timer.stop()
