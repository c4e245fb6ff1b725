"""Where the names of level lines stand, so that none covers another, a line or a curve."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

_OFF_LINE = 2.0
_OFF_END = 4.0
_OFF_CURVE = 3.0
_APART = 2.0
_SHARES = (1.0, 0.0, 0.5, 0.75, 0.25)
"""Where along a line its name may stand: at its right end, its left end, its middle, between them."""


@dataclass(frozen=True, slots=True)
class Box:
    """From left to right and from top to bottom, pixels; y grows downwards."""

    left: float
    top: float
    right: float
    bottom: float

    def grown(self, by: float) -> Box:
        """Larger by this much on every side."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def meets(self, other: Box) -> bool:
        """Whether the two have more than an edge in common."""
        beside = self.right <= other.left or other.right <= self.left
        return not (beside or self.bottom <= other.top or other.bottom <= self.top)

    def holds(self, other: Box) -> bool:
        """Whether the other lies in this one altogether."""
        across = self.left <= other.left and other.right <= self.right
        return across and self.top <= other.top and other.bottom <= self.bottom


@dataclass(frozen=True, slots=True)
class Level:
    """A level line and its name.

    y      where the line runs, pixels
    width  of the name, pixels
    """

    y: float
    width: float


_ELSEWHERE = Box(-math.inf, -math.inf, -math.inf, -math.inf)

Crossed = Callable[[Box], bool]
"""Whether a curve runs through a place."""


@dataclass(frozen=True, slots=True)
class Head:
    """The row above a plot that takes the names which find no room beside their lines, from right to left.

    least   nothing begins left of here
    right   where the row ends
    swatch  the room before each name for dashes that stand for its line, pixels
    """

    least: float
    right: float
    swatch: float


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a name begins, and the lowest that its letters reach; `bottom` is None for one in the head."""

    left: float
    bottom: float | None


def name_spots(
    levels: Sequence[Level], plot: Box, tall: float, crossed: Crossed, head: Head, *, at_worst: bool = False
) -> list[Spot | None]:
    """A spot for the name of each level: above or below its line where no curve runs, else in the head.

    tall      the height of the letters, with those that reach below the line of writing
    at_worst  what finds no spot may stand over curves

    None where one finds none. None covers another, and no level line runs through one.
    """
    beside = _beside_lines(levels, plot, tall, crossed, [None] * len(levels))
    homeless = [None if box else level.width for box, level in zip(beside, levels, strict=True)]
    lefts = _in_head(homeless, head)
    if at_worst:
        settled = [
            box or (_ELSEWHERE if left is not None else None) for box, left in zip(beside, lefts, strict=True)
        ]
        beside = _beside_lines(levels, plot, tall, lambda place: False, settled)
    return [
        Spot(left, None) if left is not None else Spot(box.left, box.bottom) if box is not None else None
        for box, left in zip(beside, lefts, strict=True)
    ]


def _beside_lines(
    levels: Sequence[Level], plot: Box, tall: float, crossed: Crossed, settled: Sequence[Box | None]
) -> list[Box | None]:
    """Boxes above or below the lines within the plot; those that are settled stay."""
    taken = [Box(plot.left, level.y - 1, plot.right, level.y + 1) for level in levels]
    taken += [box.grown(_APART) for box in settled if box is not None]
    found: list[Box | None] = []
    for level, box in zip(levels, settled, strict=True):
        if box is None:
            places = _places(level, plot, tall)
            box = next((each for each in places if _free(each, plot, taken, crossed)), None)
            taken += [] if box is None else [box.grown(_APART)]
        found.append(box)
    return found


def _in_head(widths: Sequence[float | None], head: Head) -> list[float | None]:
    """Left ends of the names that have these widths, the first at the right; None where one has no room."""
    found: list[float | None] = []
    end = head.right
    for width in widths:
        whole = math.inf if width is None else width + 2 * head.swatch
        if end - whole < head.least:
            found.append(None)
            continue
        found.append(end - whole + 2 * head.swatch)
        end -= whole
    return found


def _places(level: Level, plot: Box, tall: float) -> list[Box]:
    first, last = plot.left + 2 * _OFF_END, plot.right - _OFF_END - level.width
    lefts = [first + share * (last - first) for share in _SHARES]
    tops = (level.y - _OFF_LINE - tall, level.y + _OFF_LINE)
    return [Box(left, top, left + level.width, top + tall) for left in lefts for top in tops]


def _free(place: Box, plot: Box, taken: Sequence[Box], crossed: Crossed) -> bool:
    if not plot.holds(place) or any(place.meets(each) for each in taken):
        return False
    return not crossed(place.grown(_OFF_CURVE))
