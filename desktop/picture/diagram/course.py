"""The course of a channel: its floor, straight pieces and quarter turns, and everything parallel to it.

What a channel carries lies to the left of its floor as one walks along it: above it where it runs to the right.
Parallel lines of a quarter turn are quarter turns about the same centre, so that a width stays true in a bend.
"""

from __future__ import annotations

from dataclasses import dataclass

from desktop.picture.diagram.shapes import Path, Point, Step, end

_KAPPA = 0.5522847498307936
"""A cubic Bézier curve with handles of this share of the radius is a quarter circle to 0.03 %."""

Heading = Point

EAST: Heading = (1.0, 0.0)
SOUTH: Heading = (0.0, 1.0)
WEST: Heading = (-1.0, 0.0)


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight piece."""

    length: float


@dataclass(frozen=True, slots=True)
class Turn:
    """A quarter turn: `right` as one walks, or else left; `radius` of the floor, px."""

    right: bool
    radius: float


@dataclass(frozen=True, slots=True)
class Course:
    """A floor from `start` on."""

    start: Point
    heading: Heading
    pieces: tuple[Straight | Turn, ...]

    def edge(self, offset: float) -> Path:
        """The line that runs `offset` pixels above the floor, beginning with its "M"."""
        heading = self.heading
        x, y = self.start[0] + heading[1] * offset, self.start[1] - heading[0] * offset
        steps: list[Step] = [("M", x, y)]
        for piece in self.pieces:
            hx, hy = heading
            if isinstance(piece, Straight):
                x, y = x + hx * piece.length, y + hy * piece.length
                steps.append(("L", x, y))
                continue
            radius = piece.radius + offset if piece.right else piece.radius - offset
            kx, ky = (-hy, hx) if piece.right else (hy, -hx)
            end_x, end_y = x + (hx + kx) * radius, y + (hy + ky) * radius
            handle = _KAPPA * radius
            steps.append(
                (
                    "C",
                    x + hx * handle,
                    y + hy * handle,
                    end_x - kx * handle,
                    end_y - ky * handle,
                    end_x,
                    end_y,
                )
            )
            x, y, heading = end_x, end_y, (kx, ky)
        return tuple(steps)

    def ribbon(self, low: float, high: float) -> Path:
        """The outline of what lies between two offsets above the floor."""
        back = reverse(self.edge(low))
        return (*self.edge(high), ("L", *end(back[0])), *back[1:], ("Z",))


def reverse(path: Path) -> Path:
    """An open path walked the other way."""
    ends = [end(step) for step in path]
    turned: list[Step] = [("M", *ends[-1])]
    for number in range(len(path) - 1, 0, -1):
        (name, *numbers), before = path[number], ends[number - 1]
        if name == "C":
            turned.append(("C", numbers[2], numbers[3], numbers[0], numbers[1], *before))
        else:
            turned.append(("L", *before))
    return tuple(turned)
