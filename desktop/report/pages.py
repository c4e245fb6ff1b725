"""Where pages end: pieces of known height are put onto pages, and what belongs together stays together."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Generic, TypeVar

Ink = TypeVar("Ink")


@dataclass(frozen=True, slots=True)
class Piece(Generic[Ink]):
    """Something that is never cut.

    ink     what draws it
    height  in any unit
    before  the space above it, which is left out at the top of a page
    keeps   True where the next piece must stand on the same page, as far as one page has room
    head    what is repeated above it where a page begins with it
    least   how low it can be made where there is little room, and `lower` makes it so; None where it can't
    """

    ink: Ink
    height: float
    before: float = 0.0
    keeps: bool = False
    head: Piece[Ink] | None = field(default=None, repr=False)
    least: float | None = None
    lower: Callable[[float], Ink] | None = field(default=None, repr=False)

    @property
    def gives(self) -> float:
        """By how much it can be made lower."""
        return 0.0 if self.least is None or self.lower is None else max(0.0, self.height - self.least)

    def lowered(self, height: float) -> Piece[Ink]:
        """The same, made as low as this."""
        if self.lower is None:
            return self
        return replace(self, ink=self.lower(height), height=height)


@dataclass(frozen=True, slots=True)
class Placed(Generic[Ink]):
    """A piece, how far below the page's upper edge it begins, and the space above it that belongs to it."""

    piece: Piece[Ink]
    top: float
    before: float


def paginate(pieces: Sequence[Piece[Ink]], height: float) -> list[list[Placed[Ink]]]:
    """The pages, each as what stands on it; none for no pieces.

    height  of the part of a page that is printed on
    """
    pages: list[list[Placed[Ink]]] = []
    bottom = height
    for group in _groups(pieces):
        fitted = _fitted(group, height - bottom) if pages else group
        fits = bottom + _height(fitted) <= height
        group = fitted if fits else _fitted(group, height)
        for number, piece in enumerate(group):
            begins = number == 0 and not fits and bottom > 0
            if not pages or begins or bottom + piece.before + piece.height > height:
                pages.append([])
                bottom = _begin(pages[-1], piece)
            before = piece.before if pages[-1] else 0.0
            pages[-1].append(Placed(piece, bottom + before, before))
            bottom += before + piece.height
    return pages


def _height(group: Sequence[Piece[Ink]]) -> float:
    return sum(each.before + each.height for each in group)


def _fitted(group: list[Piece[Ink]], room: float) -> list[Piece[Ink]]:
    """A group made as low as there is room, where that is enough; else as it is."""
    over = _height(group) - room
    gives = sum(each.gives for each in group)
    if not 0 < over <= gives:
        return group
    # A little more than needed: sums of lengths are rounded.
    share = min(1.0, 1.0001 * over / gives)
    return [each.lowered(each.height - share * each.gives) if each.gives else each for each in group]


def _begin(page: list[Placed[Ink]], piece: Piece[Ink]) -> float:
    if piece.head is None:
        return 0.0
    page.append(Placed(piece.head, 0.0, 0.0))
    return piece.head.height


def _groups(pieces: Sequence[Piece[Ink]]) -> Iterator[list[Piece[Ink]]]:
    group: list[Piece[Ink]] = []
    for piece in pieces:
        group.append(piece)
        if not piece.keeps:
            yield group
            group = []
    if group:
        yield group
