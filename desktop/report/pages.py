"""Where pages end: pieces of known height are put onto pages, and what belongs together stays together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
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
    """

    ink: Ink
    height: float
    before: float = 0.0
    keeps: bool = False
    head: Piece[Ink] | None = field(default=None, repr=False)


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
        whole = sum(each.before + each.height for each in group)
        fits = bottom + whole <= height
        for number, piece in enumerate(group):
            begins = number == 0 and not fits and bottom > 0
            if not pages or begins or bottom + piece.before + piece.height > height:
                pages.append([])
                bottom = _begin(pages[-1], piece)
            before = piece.before if pages[-1] else 0.0
            pages[-1].append(Placed(piece, bottom + before, before))
            bottom += before + piece.height
    return pages


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
