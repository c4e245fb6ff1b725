"""The comparison as a table for people."""

from __future__ import annotations

from collections.abc import Sequence

from desktop.comparison.comparison import Comparison
from desktop.comparison.table import GROUPS, heading, remarks, summary, table
from desktop.words import Phrase, tr
from recordings.errors import printable

_LONGEST = 44


def comparison_text(found: Comparison) -> str:
    """The whole text, without a line break at the end."""
    rows = table(found)
    head = ["", *(_short(heading(side)) for side in (found.a, found.b)), tr("Change"), ""]
    told = [[str(cell) for cell in (row.label, row.a, row.b, row.change, row.verdict)] for row in rows]
    widths = [max(len(line[column]) for line in (head, *told)) for column in range(len(head))]
    lines = [_line(head, widths)]
    for group, title in GROUPS.items():
        mine = [_line(line, widths) for row, line in zip(rows, told, strict=True) if row.group == group]
        lines += ["", tr(title), *(mine or [f"  {tr('none')}"])]
    return "\n".join([*lines, "", str(summary(found)), *map(str, remarks(found))])


def _line(cells: Sequence[str], widths: Sequence[int]) -> str:
    return "  " + "  ".join(f"{cell:<{width}}" for cell, width in zip(cells, widths, strict=True)).rstrip()


def _short(name: Phrase) -> str:
    text = printable(str(name))
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"
