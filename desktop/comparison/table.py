"""The comparison as rows of phrases: what the window's page and the printed table show."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from desktop.comparison.comparison import Comparison, Row
from desktop.comparison.days import USUAL_SHARE, recorded_load_sd
from desktop.comparison.estimate import Verdict
from desktop.comparison.findings import Course, FindingChange
from desktop.comparison.settings import SettingChange
from desktop.comparison.shown import change_phrase, value_phrase, verdict_phrase
from desktop.comparison.side import Side
from desktop.words import Phrase, template

Group = Literal["running", "findings", "settings"]

GROUPS: dict[Group, str] = {
    "running": template("While the generator ran"),
    "findings": template("Findings"),
    "settings": template("Settings that differ"),
}

_COURSES: dict[Course, str] = {
    "came": template("came"),
    "went": template("went"),
    "stayed": template("in both"),
}


@dataclass(frozen=True, slots=True)
class TableRow:
    """One line.

    change   empty where there is nothing to subtract
    verdict  what it comes to, in a word or two
    changed  True where that is more than chance
    """

    group: Group
    label: Phrase
    a: Phrase
    b: Phrase
    change: Phrase
    verdict: Phrase
    changed: bool


def table(found: Comparison) -> tuple[TableRow, ...]:
    """Every line, in the order of GROUPS."""
    return (
        *map(_of_row, found.rows),
        *map(_of_finding, found.findings),
        *map(_of_setting, found.settings),
    )


def heading(side: Side) -> Phrase:
    """What stands above a side's column."""
    if side.session is None:
        return Phrase("{name}", name=side.name)
    return Phrase("{name}, session {number:d}", name=side.name, number=side.session)


def summary(found: Comparison) -> Phrase:
    """What changed by more than chance while the generator ran."""
    changed = [str(row.label).strip("… ") for row in table(found) if row.changed and row.group == "running"]
    if not changed:
        return Phrase("While the generator ran nothing changed by more than chance.")
    return Phrase("Changed by more than chance: {count:d} of the lines above.", count=len(changed))


def remarks(found: Comparison) -> tuple[Phrase, ...]:
    """What has to be known to read the table rightly."""
    told = []
    names = [side.review.site.site.name for side in (found.a, found.b)]
    if names[0] != names[1]:
        told.append(Phrase("These are different sites: what differs need not be due to a setting."))
    for side in (found.a, found.b):
        if not side.sessions:
            told.append(Phrase("{name} has no charge session.", name=side.name))
    if found.soc_range[0] < found.soc_range[1]:
        low, high = found.soc_range
        told.append(
            Phrase(
                "Time and fuel for 10 points are reckoned from {low:%} to {high:%}, where both charged.",
                low=low,
                high=high,
            )
        )
    elif found.a.sessions and found.b.sessions:
        told.append(
            Phrase(
                "Time and fuel for 10 points can't be compared: they charged at different states of charge."
            )
        )
    if any(side.sessions and math.isnan(recorded_load_sd(side)) for side in (found.a, found.b)):
        told.append(
            Phrase(
                "Too little is recorded to tell how much one run differs from another: assumed is that the house's "
                "load differs by {share:%}.",
                share=100 * USUAL_SHARE,
            )
        )
    told.append(
        Phrase(
            "± is one standard deviation: what chance and the meters do. More than two of them is more than "
            "chance; sun or weather may still be behind it."
        )
    )
    return tuple(told)


def _of_row(row: Row) -> TableRow:
    verdict: Verdict = row.verdict
    return TableRow(
        "running",
        row.label,
        value_phrase(row.a, row.unit),
        value_phrase(row.b, row.unit),
        change_phrase(row.change, row.unit),
        verdict_phrase(verdict),
        verdict in ("more", "less"),
    )


def _of_finding(one: FindingChange) -> TableRow:
    a, b = (_times(count) for count in (one.a, one.b))
    course = Phrase(_COURSES[one.course])
    return TableRow("findings", one.title, a, b, Phrase(""), course, one.course != "stayed")


def _times(count: int) -> Phrase:
    if not count:
        return Phrase("–")
    return Phrase("once") if count == 1 else Phrase("{count:d} times", count=count)


def _of_setting(one: SettingChange) -> TableRow:
    a, b = one.said(one.a), one.said(one.b)
    word = Phrase("another")
    if all(isinstance(each, (int, float)) and not isinstance(each, bool) for each in (one.a, one.b)):
        word = verdict_phrase("more" if one.b > one.a else "less")
    return TableRow("settings", one.label, a, b, Phrase(""), word, True)
