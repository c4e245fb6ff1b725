"""A bullet graph (S. Few, Bullet Graph Design Specification): one measure on a scale, held against marks."""

from __future__ import annotations

import math

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QProgressBar, QSizePolicy, QWidget

from desktop.diagnosis.finding import Severity
from desktop.review.moment import LimitNow
from desktop.window.style import theme

_STEPS = 1000
ELECTRICAL = ("generator_frequency", "generator_voltage")


def severity_of(limit: LimitNow) -> Severity:
    """How urgent it is when this limit is passed, as the findings about it have it."""
    return "attend" if limit.key.startswith(ELECTRICAL) else "act now"


class Bullet(QProgressBar):
    """The measure as a bar, its limits as marks across it, the stretch beyond them darker.

    Only what is beyond a limit has a colour: to be near one is what limits are set for.

    To a screen reader it is a gauge; its text is set by whoever shows it.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._limit: LimitNow | None = None
        self.setRange(0, _STEPS)
        self.setTextVisible(False)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMinimumWidth(70)

    def show_limit(self, limit: LimitNow) -> None:
        """Show this measure."""
        if limit == self._limit:
            return
        self._limit = limit
        share = self._share(limit.value)
        # A progress bar paints itself the moment it gets a value; here it has time until the next frame.
        self.setUpdatesEnabled(False)
        self.setValue(0 if share is None else round(share * _STEPS))
        self.setUpdatesEnabled(True)

    def sizeHint(self) -> QSize:
        """As high as a line of text."""
        return QSize(120, self.fontMetrics().height() + 2)

    def minimumSizeHint(self) -> QSize:
        """Narrow, but no lower."""
        return QSize(70, self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Scale, measure, marks."""
        painter = QPainter(self)
        height = self.height()
        track = QRectF(0, height * 0.14, self.width(), height * 0.72)
        painter.fillRect(track, theme.colour("track"))
        if self._limit is None:
            return
        self._paint_beyond(painter, track)
        share = self._share(self._limit.value)
        if share is not None:
            states = {"over": severity_of(self._limit), "near": "text"}
            tone = theme.colour(states.get(self._limit.state, "muted"))
            painter.fillRect(QRectF(0, height * 0.36, max(2.0, share * self.width()), height * 0.28), tone)
        for bound in (self._limit.lower, self._limit.upper):
            at = self._share(bound)
            if at is not None:
                x = min(max(at * self.width() - 1, 0.0), self.width() - 2.0)
                painter.fillRect(QRectF(x, 0, 2, height), theme.colour("text"))

    def _paint_beyond(self, painter: QPainter, track: QRectF) -> None:
        lower, upper = self._share(self._limit.lower), self._share(self._limit.upper)
        beyond = theme.colour("beyond")
        if lower is not None:
            painter.fillRect(QRectF(track.x(), track.y(), lower * track.width(), track.height()), beyond)
        if upper is not None:
            left = upper * track.width()
            painter.fillRect(QRectF(left, track.y(), track.width() - left, track.height()), beyond)

    def _share(self, value: float | None) -> float | None:
        if value is None or math.isnan(value):
            return None
        span = self._limit.highest - self._limit.lowest
        return min(max((value - self._limit.lowest) / span, 0.0), 1.0) if span > 0 else None
