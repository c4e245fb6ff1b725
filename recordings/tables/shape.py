"""Shapes of tables that can't be read column by column."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from recordings.errors import ReadError
from recordings.tables.words import meanings, tokens

_MOST_KINDS = 200
_SHARE = 0.5


def refuse_long_form(
    path: str,
    header: Sequence[str],
    stamps: Sequence[int],
    numeric: Mapping[int, float],
    rows: Sequence[Sequence[str]],
) -> None:
    """ReadError where each row holds one reading, named in a column of words.

    stamps   the columns of times
    numeric  column → how well it reads as numbers, 0..1
    """
    pairs = list(pairwise(rows))
    together = [(one, two) for one, two in pairs if all(one[c] == two[c] for c in stamps)]
    if len(together) < 2 or len(together) < _SHARE * len(pairs):
        return
    for column in (index for index, share in numeric.items() if not share):
        kinds = {row[column].strip() for row in rows} - {""}
        changes = sum(one[column] != two[column] for one, two in together)
        if 2 <= len(kinds) <= _MOST_KINDS and changes > _SHARE * len(together) and _name_readings(kinds):
            raise ReadError(
                f'each row holds one reading, named in column "{header[column]}"',
                where=path,
                expected="one row per instant, with a column for each measurement",
                mend="export the table in columns, or turn it round in a spreadsheet (a pivot table)",
            )


def _name_readings(kinds: set[str]) -> bool:
    known = sum(any(set(meanings(word)) - {"plain", "state"} for word in tokens(kind)) for kind in kinds)
    return known >= _SHARE * len(kinds)
