"""Reading a set of registers of one unit, over and over: planned, retried, and wiser after each refusal."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from drivers.modbus.errors import (
    GarbledError,
    NoAnswerError,
    ReadFaultError,
    RefusedError,
    meaning_of,
)
from drivers.modbus.link import Link
from drivers.modbus.planner import MOST_REGISTERS, Block, Span, Table, plan

_LADDER = (100, 96, 80, 64, 60, 50, 48, 40, 32, 24, 20, 16, 12, 10, 8, 6, 5, 4, 3, 2, 1)
"""Read sizes that devices are built for, tried downwards (common practice, no source)."""

_PAUSE_S = 0.05
_REFUSES_SIZE, _REFUSES_ADDRESS = 3, 2


@dataclass(slots=True)
class Registers:
    """What one round of reads brought.

    places  span → (number of its block, where in the block's bytes it starts)
    blocks  number of a block → (its bytes, when its answer came in seconds of the monotonic clock); blocks
            that could not be read are absent
    faults  what went wrong, in order
    """

    places: Mapping[Span, tuple[int, int]]
    blocks: dict[int, tuple[bytes, float]] = field(default_factory=dict)
    faults: list[ReadFaultError] = field(default_factory=list)

    @property
    def latest(self) -> float:
        """When the last answer came; 0 where none did."""
        return max((when for _, when in self.blocks.values()), default=0.0)

    def found(self, span: Span) -> tuple[bytes, int] | None:
        """The bytes that the span is in, and where it starts; None where it wasn't read."""
        place = self.places.get(span)
        block = None if place is None else self.blocks.get(place[0])
        return None if place is None or block is None else (block[0], place[1])

    def bytes_of(self, span: Span) -> bytes | None:
        """The span's bytes, high byte first; None where it wasn't read."""
        found = self.found(span)
        if found is None:
            return None
        data, start = found
        return data[start : start + 2 * span.words]

    def read_at(self, spans: Iterable[Span]) -> float | None:
        """When the first of these spans was read; None where none was."""
        places = [self.places[span][0] for span in spans if span in self.places]
        return min((self.blocks[number][1] for number in places if number in self.blocks), default=None)


class UnitReader:
    """Reads the registers of one unit.

    most       registers in one read; falls to what the device takes, and stays there
    timeout_s  how long to wait for one answer
    retries    how often a read is tried again in the same round
    missing    spans that the device says it doesn't have
    now        the monotonic clock, s, by which is told when an answer came
    """

    def __init__(
        self,
        link: Link,
        unit: int,
        *,
        most: int = MOST_REGISTERS,
        timeout_s: float = 2.0,
        retries: int = 1,
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        self.link, self.unit, self._now = link, unit, now
        self.most, self.timeout_s, self.retries = most, timeout_s, retries
        self.missing: set[Span] = set()
        self.blocks: list[Block] = []
        self._places: dict[Span, tuple[int, int]] = {}
        self._largest = 0

    def want(self, spans: Iterable[Span]) -> None:
        """Plan the reads that bring these spans."""
        self.missing = set()
        self._take(plan(spans, self.most))

    def words(self, table: Table, address: int, count: int, budget_s: float | None = None) -> bytes:
        """Some registers once, as bytes, in several reads where the device takes less. ReadFaultError if not."""
        deadline = time.monotonic() + (budget_s or self.timeout_s * (self.retries + 1))
        data = b""
        while (done := len(data) // 2) < count:
            size = min(self.most, count - done)
            try:
                data += self._tried(Block(table, address + done, size, ()), deadline)
            except RefusedError as error:
                if error.code != _REFUSES_SIZE or not self._learn_smaller(size):
                    raise
        return data

    def poll(self, budget_s: float | None = None) -> Registers:
        """Read everything that is wanted, within a time budget.

        After a read without an answer the rest of the round is given up: a silent device would else hold up
        everybody on the line. ConnectionLostError where the connection is gone.
        """
        deadline = time.monotonic() + (budget_s or self.timeout_s * (self.retries + 1))
        got = Registers(self._places)
        waiting = list(self.blocks)
        while waiting:
            block = waiting.pop(0)
            try:
                data = self._tried(block, deadline)
            except RefusedError as error:
                pieces = self._pieces(block, error)
                if pieces is None:
                    got.faults.append(error)
                else:
                    waiting = pieces + waiting
                    at = self.blocks.index(block)
                    self._take([*self.blocks[:at], *pieces, *self.blocks[at + 1 :]])
                continue
            except (NoAnswerError, GarbledError) as error:
                got.faults.append(error)
                break
            got.blocks[self._places[block.spans[0]][0]] = data, self._now()
        return got

    def _take(self, blocks: list[Block]) -> None:
        """Read these from now on. Pieces stand where their block stood, so what was read keeps its number."""
        self.blocks = blocks
        self._places.clear()
        for number, block in enumerate(blocks):
            for span in block.spans:
                self._places[span] = number, 2 * (span.address - block.address)

    def _tried(self, block: Block, deadline: float) -> bytes:
        """A block's bytes, with retries where they may help."""
        for attempt in range(self.retries + 1):
            timeout = min(self.timeout_s, max(0.02, deadline - time.monotonic()))
            last = attempt == self.retries
            try:
                data = self.link.read(self.unit, block.table, block.address, block.words, timeout)
                # What was read once is no read too large, whatever a refusal had made of it.
                self._largest = max(self._largest, block.words)
                self.most = max(self.most, self._largest)
                return data
            except RefusedError as error:
                if last or not meaning_of(error.code).passing:
                    raise
                time.sleep(_PAUSE_S)
            except (NoAnswerError, GarbledError):
                if last or not self.link.is_open or time.monotonic() >= deadline:
                    raise
        raise AssertionError("the last attempt returns or raises")

    def _pieces(self, block: Block, error: RefusedError) -> list[Block] | None:
        """Smaller blocks in place of one that was refused; None where it stands as it is."""
        if error.code not in (_REFUSES_ADDRESS, _REFUSES_SIZE):
            return None
        halves = block.halves()
        if halves is not None:
            sized = error.code == _REFUSES_SIZE and self._learn_smaller(block.words)
            return plan(block.spans, self.most) if sized else list(halves)
        self.missing.update(block.spans)
        return []

    def _learn_smaller(self, refused: int) -> bool:
        """Take smaller reads from now on; False where `refused` is as small as they get."""
        if refused > self.most:
            return True
        smaller = [size for size in _LADDER if self._largest < size < refused]
        if not smaller:
            return False
        self.most = smaller[0]
        return True
