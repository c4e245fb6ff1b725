"""The comparison as a table for people."""

from __future__ import annotations

from collections.abc import Sequence

from desktop.comparison.comparison import Comparison
from desktop.comparison.table import ALWAYS, GROUPS, heading, remarks, summary, table
from desktop.words import Phrase, tr
from recordings.errors import printable

_LONGEST = 44


def comparison_text(found: Comparison) -> str:
    """The whole text, without a line break at the end."""
    rows = table(found)
    before = Phrase("Before: {name}", name=_short(heading(found.a)))
    after = Phrase("After: {name}", name=_short(heading(found.b)))
    head = ["", str(before), str(after), tr("Change"), ""]
    told = [[str(cell) for cell in (row.label, row.a, row.b, row.change, row.verdict)] for row in rows]
    widths = [max(len(line[column]) for line in (head, *told)) for column in range(len(head))]
    lines = [*map(str, summary(found)), "", _line(head, widths)]
    for group, title in GROUPS.items():
        mine = [_line(line, widths) for row, line in zip(rows, told, strict=True) if row.group == group]
        if mine or group in ALWAYS:
            lines += ["", tr(title), *(mine or [f"  {tr('none')}"])]
    return "\n".join([*lines, "", *map(str, remarks(found))])


def _line(cells: Sequence[str], widths: Sequence[int]) -> str:
    return "  " + "  ".join(f"{cell:<{width}}" for cell, width in zip(cells, widths, strict=True)).rstrip()


def _short(name: Phrase) -> str:
    text = printable(str(name))
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"
