"""What a chart is made of: curves, areas, dots and marks over two axes, in the units in which they are shown."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import tzinfo
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from desktop.picture.axes import day_label, time_ticks, value_label, value_step, value_ticks
from desktop.words import Phrase

Floats = NDArray[np.float64]
Shape = Literal["disc", "ring", "cross", "star"]

LINES = 6
"""About so many steps on an axis."""

_SECOND = 1_000_000_000


@dataclass(frozen=True, slots=True)
class Axis:
    """From `low` to `high`, with a label and ticks (value and what to write beside it)."""

    label: Phrase
    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]

    @classmethod
    def over(cls, label: Phrase, low: float, high: float, step: float | None = None) -> Axis:
        """An axis that holds [low, high] and ends on a tick."""
        step = step or value_step(low, high, LINES)
        first, last = math.floor(low / step + 1e-9) * step, math.ceil(high / step - 1e-9) * step
        last = max(last, first + step)
        ticks = ((value, value_label(value, step)) for value in value_ticks(first, last, step))
        return cls(label, first, last, tuple(ticks))

    @classmethod
    def of_time(cls, start: int, stop: int, zone: tzinfo) -> Axis:
        """From one instant to another (UTC nanoseconds), in seconds since the first, by the zone's clock."""
        stop = max(stop, start + _SECOND)
        ticks = (((tick.at - start) / _SECOND, tick.label) for tick in time_ticks(start, stop, LINES, zone))
        first, last = day_label(start, zone), day_label(stop, zone)
        label = (
            Phrase("{day}", day=first)
            if first == last
            else Phrase("{first} to {last}", first=first, last=last)
        )
        return cls(label, 0.0, (stop - start) / _SECOND, tuple(ticks))


@dataclass(frozen=True, slots=True)
class Curve:
    """A line through (n,) points; NaN breaks it. `role` names its colour; dashed is what was not measured."""

    label: Phrase
    role: str
    x: Floats
    y: Floats
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Area:
    """What lies between `low` and `high`, (n,) each; NaN breaks it."""

    label: Phrase
    role: str
    x: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class Dot:
    """One point. Dots of the same shape and label are told once; `x_range` and `y_range` are drawn as bars."""

    label: Phrase
    role: str
    x: float
    y: float
    shape: Shape
    x_range: tuple[float, float] | None = None
    y_range: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Upright:
    """A line from top to bottom, named above the plot."""

    label: Phrase
    role: str
    x: float
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the x axis, shaded."""

    label: Phrase
    start: float
    stop: float


@dataclass(frozen=True, slots=True)
class Chart:
    """A whole chart.

    title  what it shows, with the unit of y
    told   what there is to be seen, for those who can't see it
    """

    title: Phrase
    x: Axis
    y: Axis
    told: Phrase
    curves: tuple[Curve, ...] = ()
    areas: tuple[Area, ...] = ()
    dots: tuple[Dot, ...] = ()
    uprights: tuple[Upright, ...] = ()
    stretches: tuple[Stretch, ...] = ()
    level: float | None = None
    """A line from left to right at this y, such as zero."""


def seconds_since(start: int, time: NDArray[np.int64]) -> Floats:
    """(n,) seconds from an instant, as on an axis of time."""
    since: Floats = (time - start) / _SECOND
    return since


def extent(*values: Floats) -> tuple[float, float] | None:
    """The lowest and highest of all that is known; None where nothing is."""
    known = np.concatenate([each[np.isfinite(each)] for each in values])
    return (float(known.min()), float(known.max())) if known.size else None
