"""Which registers to ask for together: the fewest reads that bring everything that is wanted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, NamedTuple

Table = Literal["holding", "input"]

MOST_REGISTERS = 125
"""The largest read that the protocol allows (Modbus Application Protocol V1.1b3, sections 6.3 and 6.4)."""


class Span(NamedTuple):
    """Registers that belong together, as one value: they are never split between two reads."""

    table: Table
    address: int
    words: int

    @property
    def end(self) -> int:
        """The address after the last register."""
        return self.address + self.words


@dataclass(frozen=True, slots=True)
class Block:
    """One read, and the spans that it brings (by address)."""

    table: Table
    address: int
    words: int
    spans: tuple[Span, ...]

    @classmethod
    def of(cls, spans: Iterable[Span]) -> Block:
        """The smallest block around spans of one table."""
        ordered = tuple(sorted(spans))
        first = ordered[0].address
        return cls(ordered[0].table, first, max(span.end for span in ordered) - first, ordered)

    def halves(self) -> tuple[Block, Block] | None:
        """The block in two: at its widest gap, else in the middle of its spans. None where it is one piece."""
        cuts = self._cuts()
        if not cuts:
            return None
        middle = self.address + self.words / 2
        index = min(cuts, key=lambda cut: (-cuts[cut], abs(self.spans[cut].address - middle)))
        return Block.of(self.spans[:index]), Block.of(self.spans[index:])

    @property
    def has_gap(self) -> bool:
        """True where it brings registers that nobody asked for."""
        return any(self._cuts().values())

    def _cuts(self) -> dict[int, int]:
        """Where it can be cut without splitting a span: index of the span after → registers in between."""
        cuts: dict[int, int] = {}
        end = self.spans[0].end
        for index, span in enumerate(self.spans[1:], 1):
            if span.address >= end:
                cuts[index] = span.address - end
            end = max(end, span.end)
        return cuts


def plan(spans: Iterable[Span], most: int) -> list[Block]:
    """The fewest blocks of at most `most` registers that bring all spans.

    The lowest register that is still wanted must be the first of a block, so taking from there all that fits
    is best. A span longer than `most` gets a block of its own.
    """
    blocks: list[Block] = []
    rest = sorted(set(spans))
    while rest:
        first = rest[0]
        taken = [span for span in rest if span.table == first.table and span.end <= first.address + most]
        taken = taken or [first]
        blocks.append(Block.of(taken))
        have = set(taken)
        rest = [span for span in rest if span not in have]
    return blocks
