"""A channel with its bed, its water and the direction in which it runs; the generator's gate and its overflow."""

from __future__ import annotations

from dataclasses import dataclass

from desktop.picture.diagram.course import Course, Straight, reverse
from desktop.picture.diagram.flows import Flow
from desktop.picture.diagram.shapes import Area, AreaKind, Current, Drawing, Line, Path

LEAST_WIDTH = 0.6
"""Water narrower than this, px, shows no direction."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A piece of channel to draw.

    over         W above which water is drawn as overflow; None: none is
    """

    flow: Flow
    course: Course
    over: float | None = None


def draw_bed(drawing: Drawing, stretch: Stretch, scale: float) -> None:
    """What a channel can carry: its empty bed with floor and rim; dotted where nothing tells what flows."""
    flow, course = stretch.flow, stretch.course
    wide = flow.capacity * scale
    path = course.ribbon(0.0, wide)
    role = "bed" if flow.known else "unknown"
    kind: AreaKind = "bed" if flow.known else "unknown"
    drawing.areas.append(Area(kind, path, role, flow.stream, "", flow.capacity, wide))
    rim, dash = ("rim", None) if flow.known else ("unknown", (4.0, 4.0))
    for edge in (0.0, wide):
        drawing.lines.append(Line("rim", course.edge(edge), rim, 1.0, dash, flow.stream))


def draw_water(drawing: Drawing, stretch: Stretch, scale: float) -> None:
    """What it does carry, in bands by source from surface to floor."""
    flow, course = stretch.flow, stretch.course
    top = flow.watts
    for source, watts in flow.bands:
        low = max(top - watts, 0.0)
        _band(drawing, stretch, source, low, top, scale)
        top = low
    if flow.watts * scale < LEAST_WIDTH:
        return
    drawing.lines.append(
        Line("surface", course.edge(flow.watts * scale), flow.bands[0][0], 1.2, None, flow.stream)
    )
    if not flow.still:
        widest = max(flow.bands, key=lambda band: band[1])[0]
        path = course.edge(flow.watts * scale / 2)
        runs = path if flow.forward else reverse(path)
        drawing.currents.append(Current(runs, flow.watts * scale, flow.stream, widest))


def _band(drawing: Drawing, stretch: Stretch, source: str, low: float, high: float, scale: float) -> None:
    """One source's water, in two where a part of it runs over."""
    name, limit = stretch.flow.stream, stretch.over
    if limit is not None and high > limit:
        split = max(low, limit)
        path = stretch.course.ribbon(split * scale, high * scale)
        drawing.areas.append(
            Area("overflow", path, "overflow", name, source, high - split, (high - split) * scale)
        )
        high = split
    if high > low:
        path = stretch.course.ribbon(low * scale, high * scale)
        drawing.areas.append(Area("water", path, source, name, source, high - low, (high - low) * scale))


def draw_gate(drawing: Drawing, course: Course, height: float, top: float, em: float, role: str) -> float:
    """A gate across a level channel: it lets through what lies below `height`, px above the floor.

    top  how far above the floor the gate's post reaches, px. Returns where the post stands.
    """
    x0, floor = course.start
    run = sum(piece.length for piece in course.pieces if isinstance(piece, Straight))
    x = x0 + run - min(1.6 * em, 0.25 * run)
    level: Path = (("M", x0, floor - height), ("L", x, floor - height))
    drawing.lines.append(Line("gate", level, "bar", 1.4, (5.0, 3.0), "generator"))
    post: Path = (("M", x, floor - height), ("L", x, floor - top))
    drawing.lines.append(Line("gate", post, role, max(2.5, 0.22 * em), None, "generator"))
    half = 0.38 * em
    handle: Path = (("M", x - half, floor - top), ("L", x + half, floor - top))
    drawing.lines.append(Line("gate", handle, role, max(2.0, 0.14 * em), None, "generator"))
    return x
