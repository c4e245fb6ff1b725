"""The flow diagram as SVG."""

from __future__ import annotations

from collections.abc import Iterator

from desktop.picture.diagram.chevrons import chevrons
from desktop.picture.diagram.layout import layout
from desktop.picture.diagram.shapes import Area, Current, Line, Mark, Path, Picture, Text, bounds
from desktop.picture.palette import THEMES, Theme
from desktop.picture.svg.elements import (
    coordinate,
    document,
    element,
    line_data,
    path_data,
    severity_mark,
    text_at,
)
from desktop.picture.svg.letters import measure
from desktop.review.moment import Moment

_STALE = 0.35
_FIRST = ("bed", "unknown", "reservoir", "stored")
_MIDDLE = ("water", "overflow", "stub")
_LAST = ("bus", "lock")


def diagram_svg(
    moment: Moment,
    title: str,
    *,
    width: float = 760.0,
    height: float = 430.0,
    theme: str = "light",
    name: str = "flow",
) -> str:
    """The flow diagram of a moment as one SVG element.

    title  what a screen reader says of it
    name   of this picture among others on its page
    """
    picture, colours = layout(moment, width, height, measure), THEMES[theme]
    return document(width, height, title, "".join(_pieces(picture, colours, name)), colours["ground"])


def _pieces(picture: Picture, theme: Theme, name: str) -> Iterator[str]:
    patterns = _Patterns(name)
    drawn = list(_drawn(picture, theme, patterns))
    yield element("defs", patterns.defs)
    yield from drawn


def _drawn(picture: Picture, theme: Theme, patterns: _Patterns) -> Iterator[str]:
    for kinds, rims in ((_FIRST, True), (_MIDDLE, False), (_LAST, None)):
        for area in picture.areas:
            if area.kind in kinds:
                yield from _area(area, picture.stale, theme, patterns)
        if rims is not None:
            yield from (_line(line, theme) for line in picture.lines if (line.kind == "rim") == rims)
    yield from (_mark(mark, theme) for mark in picture.marks)
    yield from (_text(text, theme) for text in picture.texts)
    for current in picture.currents:
        yield from _chevrons(current, picture.em, theme)


class _Patterns:
    """The patterns that are used, each once."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._made: dict[tuple[str, str], str] = {}

    @property
    def defs(self) -> str:
        return "".join(self._made.values()) or "<g/>"

    def fill(self, name: str, colour: str) -> str:
        key = f"{self._name}-{name}-{colour.lstrip('#')}"
        self._made.setdefault((name, colour), _pattern(key, name, colour))
        return f"url(#{key})"


def _pattern(key: str, name: str, colour: str) -> str:
    side = 8 if name == "hatch" else 6
    inside = element("circle", cx=3, cy=3, r="0.9", fill=colour)
    if name == "hatch":
        strokes = "M-2 2L2 -2M0 8L8 0M6 10L10 6"
        inside = element("path", d=strokes, stroke=colour, stroke_width="1.6")
    return element("pattern", inside, id=key, width=side, height=side, patternUnits="userSpaceOnUse")


def _filled(path: Path, fill: str) -> str:
    return element("path", d=path_data(path), fill=fill)


def _area(area: Area, stale: bool, theme: Theme, patterns: _Patterns) -> Iterator[str]:
    box = bounds(area.path)
    if box.width <= 0 or box.height <= 0:
        return
    faded = theme.mixed(area.role, _STALE, "bed") if stale else theme[area.role]
    if area.kind == "lock":
        yield element(
            "path", d=path_data(area.path), fill=theme["panel"], stroke=theme["bar"], stroke_width="1.6"
        )
    elif area.kind == "water":
        yield _filled(area.path, faded)
        if area.source == "mixed":
            yield _filled(area.path, patterns.fill("dots", theme.ink("mixed")))
    elif area.kind == "overflow":
        yield _filled(area.path, theme[area.role])
        yield _filled(area.path, patterns.fill("hatch", theme["ground"]))
    elif area.kind == "stub":
        hatch = patterns.fill("hatch", theme["unaccounted"])
        yield _filled(area.path, theme["ground"])
        yield element(
            "path", d=path_data(area.path), fill=hatch, stroke=theme["unaccounted"], stroke_width="1.2"
        )
    elif area.kind == "unknown":
        yield _filled(area.path, patterns.fill("dots", theme["unknown"]))
    else:
        yield _filled(area.path, faded if area.kind == "stored" else theme[area.role])


def _line(line: Line, theme: Theme) -> str:
    colour = theme.edge(line.role) if line.kind == "surface" else theme[line.role]
    dash = None if line.dash is None else " ".join(map(coordinate, line.dash))
    return element(
        "path",
        d=path_data(line.path),
        fill="none",
        stroke=colour,
        stroke_width=coordinate(line.thickness),
        stroke_dasharray=dash,
    )


def _mark(mark: Mark, theme: Theme) -> str:
    return severity_mark(mark.centre, mark.size, mark.severity, theme[mark.severity])


def _text(text: Text, theme: Theme) -> str:
    box = text.box
    x = {"left": box.left, "centre": box.centre[0], "right": box.right}[text.align]
    return text_at(
        text.text, x, box.centre[1], theme[text.role], align=text.align, size=text.size, bold=text.bold
    )


def _chevrons(current: Current, em: float, theme: Theme) -> Iterator[str]:
    thin = current.source == "unaccounted" or current.width < 0.3 * em
    colour = theme["text"] if thin else theme.ink(current.source)
    thick = coordinate(min(max(0.13 * em, 1.4), 3.0))
    for corners in chevrons(current, em):
        yield element(
            "path",
            d=line_data(corners),
            fill="none",
            stroke=colour,
            stroke_width=thick,
            stroke_opacity=None if thin else "0.85",
        )
