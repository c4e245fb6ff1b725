"""Chevrons that show which way water runs. A phase from 0 to 1 lets each drift to the next one's place."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from desktop.picture.diagram.shapes import Current, Point, flattened

Chevron = tuple[Point, Point, Point]
"""A wing, the tip, the other wing."""

_APART = 5.5
_TALLEST = 0.62
_LEAST = 0.26


def chevrons(current: Current, em: float, phase: float = 0.0) -> Iterator[Chevron]:
    """The chevrons of a current. `em` is a line of text, px; `phase` is 0..1."""
    points = flattened(current.path)
    legs = [math.dist(a, b) for a, b in itertools.pairwise(points)]
    length = sum(legs)
    half = min(max(0.3 * current.width, _LEAST * em), _TALLEST * em) / 2 * 1.3
    deep = 0.62 * half
    count = max(1, round(length / (_APART * em)))
    if length < 3.2 * deep:
        return
    for number in range(count):
        along = (number + 0.5 + phase) / count % 1.0 * length
        if along < 1.6 * deep or along > length - 1.6 * deep:
            continue
        (x, y), (ux, uy) = _at(points, legs, along)
        tip = (x + ux * deep, y + uy * deep)
        back = (x - ux * deep, y - uy * deep)
        yield (
            (back[0] - uy * half, back[1] + ux * half),
            tip,
            (back[0] + uy * half, back[1] - ux * half),
        )


def _at(points: list[Point], legs: list[float], along: float) -> tuple[Point, Point]:
    """The point this far along a line, and the direction there."""
    for (ax, ay), (bx, by), leg in zip(points, points[1:], legs, strict=False):
        if leg > 0 and along <= leg:
            ux, uy = (bx - ax) / leg, (by - ay) / leg
            return (ax + ux * along, ay + uy * along), (ux, uy)
        along -= leg
    (ax, ay), (bx, by) = points[-2], points[-1]
    reach = math.dist((ax, ay), (bx, by)) or 1.0
    return (bx, by), ((bx - ax) / reach, (by - ay) / reach)
