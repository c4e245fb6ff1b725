"""Pieces of SVG. Every text goes through here, and none of it can become markup."""

from __future__ import annotations

import math
from collections.abc import Iterable
from xml.sax.saxutils import escape, quoteattr

from desktop.diagnosis.finding import Severity
from desktop.picture.diagram.shapes import Path, Point
from desktop.picture.svg.letters import EM_PX, FAMILY, text_width

_ANCHORS = {"left": "start", "centre": "middle", "right": "end"}
_RING = 0.2


def element(name: str, inside: str = "", **attributes: object) -> str:
    """One element. Underscores in attributes' names stand for hyphens; None leaves one out."""
    told = "".join(
        f" {key.replace('_', '-')}={quoteattr(_told(value))}"
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{told}>{inside}</{name}>" if inside else f"<{name}{told}/>"


def _told(value: object) -> str:
    return coordinate(value) if isinstance(value, float) else str(value)


def coordinate(value: float) -> str:
    """A number with two decimals, and no more digits than it needs."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def path_data(path: Path) -> str:
    """A path's steps."""
    return "".join(f"{name}{' '.join(map(coordinate, numbers))}" for name, *numbers in path)


def line_data(points: Iterable[Point]) -> str:
    """An open line through points."""
    return "M" + "L".join(f"{coordinate(x)} {coordinate(y)}" for x, y in points)


def text_at(
    text: str, x: float, y: float, fill: str, *, align: str = "left", size: float = 1.0, bold: bool = False
) -> str:
    """A line of text whose middle lies at `y`. A font that is wider is drawn no wider than reckoned."""
    # Half the height of digits and capitals stands above the middle, half below.
    return element(
        "text",
        escape(text),
        x=x,
        y=y + 0.36 * size * EM_PX,
        fill=fill,
        text_anchor=_ANCHORS[align],
        font_size=coordinate(size * EM_PX),
        font_weight="bold" if bold else None,
        textLength=coordinate(text_width(text, size, bold)) if text.strip() else None,
        lengthAdjust="spacingAndGlyphs" if text.strip() else None,
    )


def severity_mark(centre: Point, size: float, severity: Severity, fill: str) -> str:
    """A triangle, a diamond or a ring."""
    half, (x, y) = size / 2, centre
    if severity == "act now":
        return _polygon([(x, y - half), (x + half, y + half), (x - half, y + half)], fill)
    if severity == "attend":
        return _polygon([(x, y - half), (x + half, y), (x, y + half), (x - half, y)], fill)
    thick = max(1.4, _RING * size)
    return element(
        "circle",
        cx=x,
        cy=y,
        r=0.85 * half - thick / 2,
        fill="none",
        stroke=fill,
        stroke_width=coordinate(thick),
    )


def _polygon(corners: list[Point], fill: str) -> str:
    return element("path", d=line_data(corners) + "Z", fill=fill)


def document(width: float, height: float, title: str, inside: str, ground: str) -> str:
    """A whole picture that scales with its page. `title` is what a screen reader says of it."""
    w, h = coordinate(math.ceil(width)), coordinate(math.ceil(height))
    return element(
        "svg",
        element("title", escape(title)) + element("rect", width=w, height=h, fill=ground) + inside,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {w} {h}",
        role="img",
        font_family=FAMILY,
        style=f"max-width:{w}px;width:100%;height:auto",
    )
