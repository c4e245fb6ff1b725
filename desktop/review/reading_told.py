"""How a file of unknown make was read, for people: which column became what, what was mended, what was left."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from desktop.channel_names import CHANNEL_NAMES
from desktop.words import Phrase, tr
from recordings.errors import printable
from recordings.provenance import ColumnReading, Provenance

_MOST_LEFT = 12
_MOST_UNCLEAR = 8
_LONGEST = 60


def reading_told(provenance: Provenance) -> Iterator[str]:
    """Lines, none where the file is one of ours and nothing was mended."""
    foreign = {name: one for name, one in provenance.columns.items() if not _is_own(name, one)}
    notes = provenance.repairs.notes
    if not foreign and not provenance.unclear and len(notes) < 2:
        return
    yield tr("How the file was read")
    for name, one in foreign.items():
        yield "  " + str(_column(name, one))
    for note in notes:
        yield "  " + printable(note)
    if provenance.repairs.bad_rows:
        yield "  " + str(Phrase("Rows that could not be read: {count:d}.", count=provenance.repairs.bad_rows))
    unclear = not_understood(provenance)
    if unclear is not None:
        yield f"  {unclear}"
    left = [name for name in provenance.ignored if name not in provenance.unclear]
    if foreign and left:
        yield "  " + str(_left(left))


def not_understood(provenance: Provenance) -> Phrase | None:
    """That columns look like measurements and became none; None where there are none of these.

    It belongs above all that is concluded: what they measure may be what went wrong.
    """
    names = provenance.unclear
    if not names:
        return None
    told = ", ".join(f'"{_short(name)}"' for name in names[:_MOST_UNCLEAR])
    more = len(names) - _MOST_UNCLEAR
    if more > 0:
        return Phrase(
            "{count:d} columns that look like measurements were not understood: {names} and {more:d} more. Assign "
            "them in the site sheet's [columns], or under File → Columns…",
            count=len(names),
            names=told,
            more=more,
        )
    if len(names) == 1:
        return Phrase(
            "A column that looks like a measurement was not understood: {names}. Assign it in the site sheet's "
            "[columns], or under File → Columns…",
            names=told,
        )
    return Phrase(
        "{count:d} columns that look like measurements were not understood: {names}. Assign them in the site "
        "sheet's [columns], or under File → Columns…",
        count=len(names),
        names=told,
    )


def _is_own(channel: str, one: ColumnReading) -> bool:
    return one.column.partition(" ")[0] == channel


def _column(name: str, one: ColumnReading) -> Phrase:
    values: dict[str, Any] = {
        "channel": tr(CHANNEL_NAMES[name]),
        "column": printable(one.column),
        "unit": one.unit or "–",
        "how": printable(one.how),
    }
    if one.sign < 0:
        return Phrase('{channel}: "{column}" in {unit}, counted the other way round ({how}).', **values)
    return Phrase('{channel}: "{column}" in {unit} ({how}).', **values)


def _left(ignored: list[str]) -> Phrase:
    names = ", ".join(f'"{_short(name)}"' for name in ignored[:_MOST_LEFT])
    more = len(ignored) - _MOST_LEFT
    if more > 0:
        return Phrase("Not used: {names} and {more:d} more.", names=names, more=more)
    return Phrase("Not used: {names}.", names=names)


def _short(name: str) -> str:
    plain = printable(name)
    return plain if len(plain) <= _LONGEST else plain[: _LONGEST - 1] + "…"
