"""A widget on which a stretch of time is seen: how that stretch moves, and where its cursor stands."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from desktop.picture.trends.window import TimeWindow


class OverTime(QWidget):
    """What hands and menus move.

    view_changed  another window of time is seen (start, stop; int, UTC nanoseconds)
    """

    view_changed = Signal(object, object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._window: TimeWindow | None = None
        self._most: int | None = None
        self._cursor: int | None = None

    @property
    def window_of_time(self) -> TimeWindow | None:
        """What is seen, None without a source."""
        return self._window

    @property
    def cursor_instant(self) -> int | None:
        """Where the cursor is, UTC nanoseconds."""
        return self._cursor

    def pan(self, share: float) -> None:
        """Move on by a share of what is seen; negative goes back."""
        if self._window is not None:
            self._go(self._window.moved(share * self._window.span))

    def zoom(self, factor: float, about: int | None = None) -> None:
        """See a stretch longer by this factor; `about` stays in place, else the cursor, else the middle."""
        if self._window is None:
            return
        if about is None:
            inside = self._cursor is not None and self._window.start <= self._cursor <= self._window.stop
            about = self._cursor if inside else (self._window.start + self._window.stop) // 2
        self._go(self._window.zoomed(factor, about))

    def fit(self) -> None:
        """See everything."""
        if self._window is not None:
            self._most = None
            self._go(TimeWindow.fitted(self._window.first, self._window.last))

    def show_between(self, start: int, stop: int) -> None:
        """See [start, stop], UTC nanoseconds, as far as there is something."""
        if self._window is not None:
            self._go(self._window.between(start, stop))

    def to_start(self) -> None:
        """See the beginning."""
        if self._window is not None:
            self._go(self._window.at_first())

    def to_end(self) -> None:
        """See the end."""
        if self._window is not None:
            self._go(self._window.at_last())

    def _go(self, window: TimeWindow) -> None:
        if window == self._window:
            return
        moved = self._window is None or (window.start, window.stop) != (self._window.start, self._window.stop)
        self._window = window
        self._outdate()
        self.update()
        if moved:
            self.view_changed.emit(window.start, window.stop)

    def _outdate(self) -> None:
        """What was drawn of another window of time is no longer of use."""
        raise NotImplementedError
