"""The plain shapes that a picture is made of. Pixels, x to the right, y down."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

Point = tuple[float, float]

Step = tuple[str, *tuple[float, ...]]
"""("M", x, y), ("L", x, y), ("C", x1, y1, x2, y2, x, y) or ("Z",): move, line, cubic Bézier curve, close."""

Path = tuple[Step, ...]

Measure = Callable[[str, float, bool], tuple[float, float]]
"""(text, size, bold) → width and height, px. Size 1 is the application's own text. The height is the same for
every text of a size."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle with upright sides."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """Right less left."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Bottom less top."""
        return self.bottom - self.top

    @property
    def centre(self) -> Point:
        """The middle."""
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2

    def meets(self, other: Box, slack: float = 0.0) -> bool:
        """True where the two have more than `slack` pixels in common both ways."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return across > slack and down > slack

    def path(self) -> Path:
        """Its outline."""
        return (
            ("M", self.left, self.top),
            ("L", self.right, self.top),
            ("L", self.right, self.bottom),
            ("L", self.left, self.bottom),
            ("Z",),
        )


AreaKind = Literal["bed", "unknown", "water", "overflow", "stub", "bus", "lock", "stored", "reservoir"]


@dataclass(frozen=True, slots=True)
class Area:
    """A filled outline.

    kind    what it stands for; "unknown", "overflow" and "stub" are drawn with a pattern of their own
    role    its colour's role
    stream  the stream that it belongs to, or the place of a stub or bus
    source  whose water it is
    watts   what its width stands for
    width   its width across the flow, px; 0 where that isn't to scale
    """

    kind: AreaKind
    path: Path
    role: str
    stream: str = ""
    source: str = ""
    watts: float = 0.0
    width: float = 0.0


LineKind = Literal["rim", "surface", "gate", "mark", "gauge", "spread", "drip", "wall"]


@dataclass(frozen=True, slots=True)
class Line:
    """An open line. `thickness` and `dash` in px; no dash: drawn through."""

    kind: LineKind
    path: Path
    role: str
    thickness: float = 1.0
    dash: tuple[float, float] | None = None
    stream: str = ""


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text that fits its box.

    role, ground  the colours' roles of the text and of what it stands on
    align         where in the box it stands
    of            the stream or place that it tells of
    """

    text: str
    box: Box
    role: str
    size: float = 1.0
    bold: bool = False
    align: Literal["left", "centre", "right"] = "left"
    ground: str = "ground"
    of: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """The shape of a severity beside a text: triangle, diamond or ring."""

    severity: Literal["act now", "attend", "note"]
    centre: Point
    size: float


@dataclass(frozen=True, slots=True)
class Current:
    """A line along which chevrons show the direction of flow.

    path    from the first to the last point, the way the water runs
    width   of the water, px
    source  whose water it is (the widest band's)
    """

    path: Path
    width: float
    stream: str
    source: str


@dataclass(frozen=True, slots=True)
class Picture:
    """Everything to paint, in order: areas, lines, marks, texts; currents last, as they may drift.

    scale     pixels per watt, the same for the whole picture
    em        height of a line of text, px
    stale     True where what is shown is too old to be believed
    """

    width: float
    height: float
    scale: float
    em: float
    stale: bool = False
    areas: tuple[Area, ...] = ()
    lines: tuple[Line, ...] = ()
    texts: tuple[Text, ...] = ()
    marks: tuple[Mark, ...] = ()
    currents: tuple[Current, ...] = ()


@dataclass(slots=True)
class Drawing:
    """Shapes while they are being gathered."""

    areas: list[Area] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    currents: list[Current] = field(default_factory=list)


def flattened(path: Path, pieces: int = 12) -> list[Point]:
    """A path as the corners of a polygon; each curve becomes this many pieces."""
    points: list[Point] = []
    for name, *numbers in path:
        if name in "ML":
            points.append((numbers[0], numbers[1]))
        elif name == "C":
            points += _bent(points[-1], numbers, pieces)
    return points


def _bent(start: Point, numbers: list[float], pieces: int) -> list[Point]:
    x1, y1, x2, y2, x3, y3 = numbers
    found = []
    for piece in range(1, pieces + 1):
        t = piece / pieces
        a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        found.append((a * start[0] + b * x1 + c * x2 + d * x3, a * start[1] + b * y1 + c * y2 + d * y3))
    return found


def bounds(path: Path) -> Box:
    """The smallest box around a path."""
    points = flattened(path)
    across, down = [x for x, _ in points], [y for _, y in points]
    return Box(min(across), min(down), max(across), max(down))


def end(step: Step) -> Point:
    """Where a step ends."""
    numbers = step[1:]
    return numbers[-2], numbers[-1]
