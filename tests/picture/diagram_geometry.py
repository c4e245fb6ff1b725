"""What lies over what: exact enough to find an overlap of half a pixel."""

from __future__ import annotations

import itertools

from desktop.picture.diagram.shapes import Area, Box, Picture, bounds, flattened


def common(area: Area, box: Box) -> float:
    """Square pixels that an area has in common with a box (Sutherland and Hodgman's clipping)."""
    around = bounds(area.path)
    if not around.meets(box):
        return 0.0
    points = flattened(area.path)
    for axis, limit, sign in ((0, box.left, 1), (0, box.right, -1), (1, box.top, 1), (1, box.bottom, -1)):
        points = _clipped(points, axis, limit, sign)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in itertools.pairwise([*points, *points[:1]]))) / 2


def _clipped(
    points: list[tuple[float, float]], axis: int, limit: float, sign: int
) -> list[tuple[float, float]]:
    kept = []
    for before, after in zip([*points[-1:], *points[:-1]], points, strict=True):
        inside_before, inside_after = (sign * (one[axis] - limit) >= 0 for one in (before, after))
        if inside_before != inside_after:
            share = (limit - before[axis]) / (after[axis] - before[axis])
            kept.append(tuple(a + share * (b - a) for a, b in zip(before, after, strict=True)))
        if inside_after:
            kept.append(after)
    return kept


def ends_of(area: Area) -> tuple[float, float]:
    """The width of a ribbon where it begins and where it ends, px."""
    steps = [step for step in area.path if step[0] != "Z"]
    half = len(steps) // 2
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = (steps[i][-2:] for i in (0, -1, half - 1, half))
    return ((ax - bx) ** 2 + (ay - by) ** 2) ** 0.5, ((cx - dx) ** 2 + (cy - dy) ** 2) ** 0.5


def water(picture: Picture, stream: str) -> list[Area]:
    """The water of a stream, what runs over included."""
    return [area for area in picture.areas if area.stream == stream and area.kind in ("water", "overflow")]


def everything(picture: Picture) -> list[tuple[str, Box]]:
    """A box around each shape, with what it is."""
    found = [(f"{area.kind} {area.stream}", bounds(area.path)) for area in picture.areas]
    found += [(f"{line.kind} {line.stream}", bounds(line.path)) for line in picture.lines]
    found += [(text.text, text.box) for text in picture.texts]
    for mark in picture.marks:
        (x, y), half = mark.centre, mark.size / 2
        found.append((mark.severity, Box(x - half, y - half, x + half, y + half)))
    return found
