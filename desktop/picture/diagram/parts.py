"""Which part of a flow diagram lies at a place, and where a part lies."""

from __future__ import annotations

from collections.abc import Iterator

from desktop.picture.diagram.labels import NAMES
from desktop.picture.diagram.shapes import Box, Path, Picture, bounds, flattened
from desktop.words import template, tr

PART_NAMES: dict[str, str] = {
    **NAMES,
    "converter": template("Inverter-charger"),
    "converter_ac": template("Inverter-charger, AC side"),
    "converter_dc": template("Inverter-charger, DC side"),
    "ac": template("AC bus"),
    "dc": template("DC bus"),
    "both": template("Power unaccounted for"),
}
"""Part → what it is called (English templates)."""

_NO_PART = frozenset({"", "balance", "limit", "level", "target"})
_SLACK = 0.5
"""Lines of text beside a channel within which a click still means it."""
_TARGET = 24.0
"""Pixels; what is drawn smaller is hit within so many around its middle (WCAG 2.2, 2.5.8)."""


def parts(picture: Picture) -> tuple[str, ...]:
    """What is drawn and can be meant: streams, "converter", and the buses or what is missing at them.

    They come as an eye reads them: from left to right, and from top to bottom where they begin alike.
    """
    boxes = {part: box_of(picture, part) for part in dict.fromkeys(part for part, _ in _outlines(picture))}
    places = {part: box for part, box in boxes.items() if box is not None}
    return tuple(
        sorted(places, key=lambda part: (round(places[part].left / (8 * picture.em)), places[part].top))
    )


def part_name(part: str) -> str:
    """What a part is called, in the language that is spoken."""
    return tr(PART_NAMES[part])


def part_at(picture: Picture, x: float, y: float) -> str:
    """The part at a place, px: what is drawn last there, else what tells of one there, else the nearest; or ""."""
    here = [part for part, path in _outlines(picture) if _inside(path, x, y)]
    if here:
        return here[-1]
    told = [text.of for text in picture.texts if text.of not in _NO_PART and _distance(text.box, x, y) == 0]
    if told:
        return told[-1]
    boxes = [(bounds(path), part) for part, path in _outlines(picture)]
    near = [
        (_distance(box, x, y), part)
        for box, part in boxes
        if _distance(box, x, y) <= _SLACK * picture.em or _distance(_target(box), x, y) == 0
    ]
    return min(near, default=(0.0, ""))[1]


def paths_of(picture: Picture, part: str) -> list[Path]:
    """The outlines of a part, its largest first."""
    found = [path for name, path in _outlines(picture) if name == part]
    return sorted(found, key=lambda path: -_size(bounds(path)))


def box_of(picture: Picture, part: str) -> Box | None:
    """The smallest box around a part; None where it isn't drawn."""
    boxes = [bounds(path) for path in paths_of(picture, part)]
    if not boxes:
        return None
    return Box(
        min(box.left for box in boxes),
        min(box.top for box in boxes),
        max(box.right for box in boxes),
        max(box.bottom for box in boxes),
    )


def _outlines(picture: Picture) -> Iterator[tuple[str, Path]]:
    """Every part's areas in the order in which they cover each other."""
    late = ("bus", "lock", "stub")
    for last in (False, True):
        for area in picture.areas:
            if area.stream not in _NO_PART and (area.kind in late) == last:
                yield area.stream, area.path


def _inside(path: Path, x: float, y: float) -> bool:
    """Even-odd rule."""
    corners = flattened(path)
    inside = False
    for (x1, y1), (x2, y2) in zip(corners, [*corners[1:], corners[0]], strict=True):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
            inside = not inside
    return inside


def _distance(box: Box, x: float, y: float) -> float:
    across = max(box.left - x, x - box.right, 0.0)
    down = max(box.top - y, y - box.bottom, 0.0)
    return float((across * across + down * down) ** 0.5)


def _target(box: Box) -> Box:
    """A box, or a larger one of at least the size that can be hit."""
    across, down = max(_TARGET - box.width, 0.0) / 2, max(_TARGET - box.height, 0.0) / 2
    return Box(box.left - across, box.top - down, box.right + across, box.bottom + down)


def _size(box: Box) -> float:
    return box.width * box.height
