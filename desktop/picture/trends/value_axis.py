"""The value axis of a pane: from where to where, and where its few lines run."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from desktop.picture.axes import value_label, value_step, value_ticks
from desktop.picture.trends.columns import Points, Spans
from desktop.picture.trends.source import Pane

_LEAST = 0.01
"""In shown units, the shortest stretch of an axis."""

_LEAST_SHARE = 0.02
"""Of the greatest value: an axis is never stretched over less than this, so that noise doesn't look like news."""


@dataclass(frozen=True, slots=True)
class ValueAxis:
    """From `low` to `high` with a line every `step`, all in shown units.

    shelf  True where values below `low` are drawn at the very bottom, on a shelf of their own
    """

    low: float
    high: float
    step: float
    shelf: bool = False

    @property
    def ticks(self) -> list[tuple[float, str]]:
        """Value and label of each line."""
        return [
            (value, value_label(value, self.step)) for value in value_ticks(self.low, self.high, self.step)
        ]

    @property
    def shelf_label(self) -> str:
        """What lies on the shelf."""
        return f"<{value_label(self.low, self.step / 2)}"


def value_axis(pane: Pane, drawn: Iterable[Points | Spans], limits: Iterable[float], lines: int) -> ValueAxis:
    """The axis that fits what is drawn (SI) and the limits (SI), with about `lines` steps, on round values."""
    lows, highs = _extremes(drawn)
    shelf = False
    if pane.base == "running" and len(highs):
        threshold = pane.running * float(np.max(highs))
        both = np.concatenate([lows, highs])
        running = both[both > threshold]
        shelf = 0 < len(running) < len(both)
        lows = highs = running if shelf else both
    stated = [value for value in limits if np.isfinite(value)]
    ends = [*_ends(lows, highs), *stated] or [0.0, 1.0 / pane.scale]
    low, high = min(ends), max(ends)
    if pane.base == "zero":
        low, high = min(low, 0.0), max(high, 0.0)
    least = max(_LEAST_SHARE * max(abs(low), abs(high)), _LEAST / pane.scale)
    if high - low < least:
        middle = (low + high) / 2
        low, high = (
            (0.0, least) if pane.base == "zero" and low == 0 else (middle - least / 2, middle + least / 2)
        )
    return _rounded(pane, low, high, lines, shelf)


def _rounded(pane: Pane, low: float, high: float, lines: int, shelf: bool) -> ValueAxis:
    if pane.most:
        low, high = max(low, pane.most[0]), min(high, pane.most[1])
    low, high = low * pane.scale, high * pane.scale
    step = value_step(low, high, lines)
    # Ends on half steps waste little room and don't move with every new value.
    axis = _ending_on(step / 2, low, high, step, shelf)
    return axis if len(axis.ticks) > 1 else _ending_on(step, low, high, step, shelf)


def _ending_on(grid: float, low: float, high: float, step: float, shelf: bool) -> ValueAxis:
    first = np.floor(low / grid + 1e-6)
    last = max(np.ceil(high / grid - 1e-6), first + 1)
    return ValueAxis(float(first * grid), float(last * grid), step, shelf)


def _extremes(drawn: Iterable[Points | Spans]) -> tuple[np.ndarray, np.ndarray]:
    lows: list[np.ndarray] = [np.empty(0)]
    highs: list[np.ndarray] = [np.empty(0)]
    for each in drawn:
        low, high = (each.low, each.high) if isinstance(each, Spans) else (each.value, each.value)
        lows.append(low[np.isfinite(low)])
        highs.append(high[np.isfinite(high)])
    return np.concatenate(lows), np.concatenate(highs)


def _ends(lows: np.ndarray, highs: np.ndarray) -> list[float]:
    return [float(np.min(lows)), float(np.max(highs))] if len(lows) else []
