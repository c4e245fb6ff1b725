"""A unit of which nothing is known: which registers it has, and what the words in them may mean."""

from __future__ import annotations

import math
import struct
from collections.abc import Iterator

from drivers.modbus.errors import RefusedError
from drivers.modbus.planner import Table
from drivers.modbus.reading import UnitReader
from drivers.probe.report import ProbedDevice, ProbedValue
from drivers.probe.suggestion import map_to_start_from

RANGES = (range(0, 200), range(256, 356), range(1000, 1100), range(30000, 30100), range(40000, 40100))
"""Where makers like to put their registers (common practice, no source)."""

_STEP, _PIECE = 20, 5
_NO_SUCH_TABLE = 1
_TABLES: tuple[Table, ...] = ("holding", "input")

_LIKELY = (
    (4500, 6500, "0.01", "Hz, or 0.01 V of a 48 V battery"),
    (450, 650, "0.1", "Hz, or 0.1 V of a 48 V battery"),
    (1080, 1300, "0.1", "V of a 120 V leg"),
    (2000, 2600, "0.1", "V of a 230 V leg"),
    (220, 250, "1", "V of a 230 V leg"),
)

Words = dict[tuple[Table, int], int]


def scanned(reader: UnitReader, source: str) -> ProbedDevice | None:
    """What registers a unit has at the usual addresses; None where it gives none of them."""
    words = _scan(reader)
    if not words:
        return None
    mirrored = _mirrored(words)
    if mirrored:
        words = {place: word for place, word in words.items() if place[0] == "holding"}
    again = _scan(reader, set(words))
    found = ProbedDevice(source, reader.unit, most_registers=reader.most)
    found.values = [_value(table, address, words, again) for table, address in _telling(words)]
    found.notes.append(
        f"it doesn't describe itself; {len(words)} registers answer at the usual addresses, "
        f"{len(found.values)} of them are not 0"
    )
    if mirrored:
        found.notes.append("its input registers say the same as its holding registers")
    found.suggestion = map_to_start_from(found.values, reader.unit, reader.most)
    return found


def _mirrored(words: Words) -> bool:
    """True where both tables are there and (but for what changed meanwhile) say the same."""
    both = [at for table, at in words if table == "input" and ("holding", at) in words]
    inputs = sum(table == "input" for table, _ in words)
    same = sum(words["input", at] == words["holding", at] for at in both)
    return 0 < inputs == len(both) and same >= 0.8 * inputs


def _scan(reader: UnitReader, known: set[tuple[Table, int]] | None = None) -> Words:
    words: Words = {}
    for table in _TABLES:
        for addresses in RANGES:
            try:
                for first in range(addresses.start, addresses.stop, _STEP):
                    if known is None or any((table, at) in known for at in range(first, first + _STEP)):
                        words.update(_block(reader, table, first))
            except RefusedError:
                break
    return words


def _block(reader: UnitReader, table: Table, first: int) -> Iterator[tuple[tuple[Table, int], int]]:
    """The words of one step; in pieces where it isn't given as a whole. RefusedError: no such table at all."""
    for size, starts in ((_STEP, (first,)), (_PIECE, range(first, first + _STEP, _PIECE))):
        got = False
        for start in starts:
            try:
                data = reader.words(table, start, size)
            except RefusedError as error:
                if error.code == _NO_SUCH_TABLE:
                    raise
                if size == _PIECE and start == first:
                    # What doesn't even begin where it should is most likely not there at all.
                    return
                continue
            got = True
            for offset, word in enumerate(struct.unpack(f">{size}H", data)):
                yield (table, start + offset), word
        if got:
            return


def _telling(words: Words) -> list[tuple[Table, int]]:
    return [place for place, word in sorted(words.items()) if word not in (0, 0xFFFF, 0x8000)]


def _value(table: Table, address: int, words: Words, again: Words) -> ProbedValue:
    word = words[table, address]
    signed = word - 0x10000 if word & 0x8000 else word
    hints = [
        f"× {scale} = {word * float(scale):g} {what}"
        for low, high, scale, what in _LIKELY
        if low <= word <= high
    ]
    following = words.get((table, address + 1))
    if following is not None:
        for order, first, second in (("", word, following), (" (low word first)", following, word)):
            (number,) = struct.unpack(">f", struct.pack(">HH", first, second))
            if math.isfinite(number) and 0.01 <= abs(number) < 1e6 and first & 0x7F80:
                hints.append(f"f32{order} {number:.6g}")
    if signed < 0:
        hints.insert(0, f"i16 {signed}")
    if again.get((table, address), word) != word:
        hints.append("changes")
    return ProbedValue(str(address), table, address, (word,), float(word), hint="; ".join(hints))
