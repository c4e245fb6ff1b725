"""A dialog that has something worked out in a thread: what it tells, how far it is, and Cancel."""

from __future__ import annotations

from PySide6.QtWidgets import QDialog, QProgressBar, QPushButton, QWidget

from desktop.window.parts.told import Told
from desktop.window.working import Worker
from desktop.words import tr

_STEPS = 1000


class WorkDialog(QDialog):
    """Who inherits says what comes of it in `take`, and gives `told`, `bar` and `cancel` their places.

    name       of the threads
    told_size  of what is told, of the usual letters
    """

    def __init__(self, name: str, parent: QWidget | None = None, told_size: float = 1.1) -> None:
        super().__init__(parent)
        self.worker = Worker(name, self)
        self.worker.progressed.connect(self.show_progress)
        self.worker.done.connect(self.take)
        self.worker.failed.connect(self.fail)
        self.told = Told(told_size)
        self.bar = QProgressBar()
        self.bar.setRange(0, _STEPS)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName(tr("Progress"))
        self.cancel = QPushButton(tr("Cancel"))
        self.cancel.setAutoDefault(False)
        self.cancel.clicked.connect(self._cancel)

    def take(self, found: object) -> None:
        """What was worked out."""
        raise NotImplementedError

    def show_progress(self, stage: str, share: float) -> None:
        """How far it is: a share of 1; what is being done stays told where `stage` is ""."""
        if stage:
            self.told.say(None, stage)
        self.bar.setValue(round(share * _STEPS))

    def show_busy(self, busy: bool) -> None:
        """Whether something is worked out now."""
        self.bar.setValue(0)
        self.bar.setVisible(busy)
        self.cancel.setVisible(busy)

    def fail(self, line: str) -> None:
        """Tell what went wrong."""
        self.show_busy(False)
        self.told.say("attend", line)

    def done(self, result: int) -> None:
        """Closed: end the thread."""
        self.worker.close()
        super().done(result)

    def _cancel(self) -> None:
        self.worker.stop()
        self.show_busy(False)
        self.told.say(None, tr("Cancelled."))
