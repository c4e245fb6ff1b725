"""Cyclic garbage is collected by a timer of the window's thread, and nowhere else."""

from __future__ import annotations

import gc

from PySide6.QtCore import QObject, QTimer

_EVERY_MS = 1000


class Collecting(QObject):
    """Keeps Python from collecting by itself for as long as it lives, and does it between the window's events.

    A collection begins wherever something is made: within a paint event, or in a worker's thread. Widgets that hold
    each other would then be torn down in the midst of what Qt does, or beside the thread that they live in.
    """

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._was_enabled = gc.isenabled()
        gc.disable()
        # What the program consists of stays; nobody need look through it again.
        gc.freeze()
        timer = QTimer(self)
        timer.timeout.connect(self._collect)
        timer.start(_EVERY_MS)

    def end(self) -> None:
        """Python collects by itself again, if it did before."""
        gc.unfreeze()
        if self._was_enabled:
            gc.enable()

    def _collect(self) -> None:
        due = [
            generation
            for generation, (made, most) in enumerate(zip(gc.get_count(), gc.get_threshold(), strict=True))
            if made > most
        ]
        if due:
            gc.collect(max(due))
