"""The comparison as rows of phrases: what the window's page and the printed table show."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from desktop.comparison.comparison import Comparison, Row
from desktop.comparison.days import USUAL_SHARE, recorded_load_sd
from desktop.comparison.estimate import SDS, Verdict
from desktop.comparison.findings import Course, FindingChange
from desktop.comparison.settings import SettingChange
from desktop.comparison.shown import change_phrase, value_phrase, verdict_phrase
from desktop.comparison.side import Side
from desktop.words import Phrase, template

Group = Literal["settings", "changed", "findings", "unchanged", "unknown"]

GROUPS: dict[Group, str] = {
    "settings": template("Settings that differ"),
    "changed": template("Changed by more than chance"),
    "findings": template("Findings"),
    "unchanged": template("No more than chance"),
    "unknown": template("Not known, or too short to tell"),
}
"""In the order in which they are shown."""

ALWAYS: tuple[Group, ...] = ("settings", "changed", "findings")
"""Groups of which it is told that there is nothing in them; of the others nothing is told then."""

_GROUP_OF: dict[Verdict, Group] = {
    "more": "changed",
    "less": "changed",
    "within chance": "unchanged",
    "same": "unchanged",
    "too little": "unknown",
    "not known": "unknown",
}

_FAR = 2.0
"""Where chance reaches further than so many times what there was before, a share says nothing."""

_REPORTED = {"input_limit_a": ("input", "limit_a"), "charge_limit_a": ("charger", "limit_a")}
"""Quantities that are settings as the devices report them, and what the sheet calls the same."""

_COURSES: dict[Course, str] = {
    "came": template("came"),
    "went": template("went"),
    "stayed": template("in both"),
}


@dataclass(frozen=True, slots=True)
class Shift:
    """A change as a share of what there was before.

    value  +0.25 for a quarter more
    reach  two standard deviations of it: no further than this from zero is no more than chance
    """

    value: float
    reach: float


@dataclass(frozen=True, slots=True)
class TableRow:
    """One line.

    change   empty where there is nothing to subtract
    verdict  what it comes to, in a word or two; empty where the group says it
    changed  True where that is more than chance
    shift    the change as a share; None where that says nothing
    """

    group: Group
    label: Phrase
    a: Phrase
    b: Phrase
    change: Phrase
    verdict: Phrase
    changed: bool
    shift: Shift | None = None


def table(found: Comparison) -> tuple[TableRow, ...]:
    """Every line, in the order of GROUPS."""
    running = [_of_row(row) for row in found.rows]
    told = {
        _REPORTED[row.key]: (row.a.value, row.b.value)
        for row, line in zip(found.rows, running, strict=True)
        if line.group == "settings"
    }
    # What a device reports, and the sheet says as well, is told once.
    stated = [one for one in found.settings if told.get((one.section, one.key)) != (one.a, one.b)]
    lines = [*running, *map(_of_finding, found.findings), *map(_of_setting, stated)]
    order = list(GROUPS)
    return tuple(sorted(lines, key=lambda line: order.index(line.group)))


def heading(side: Side) -> Phrase:
    """What stands above a side's column."""
    if side.session is None:
        return Phrase("{name}", name=side.name)
    return Phrase("{name}, session {number:d}", name=side.name, number=side.session)


def summary(found: Comparison) -> tuple[Phrase, Phrase]:
    """What was set otherwise, and how much changed by more than chance while the generator ran."""
    lines = table(found)
    settings = [line for line in lines if line.group == "settings"]
    if not settings:
        cause = Phrase("No setting differs.")
    elif len(settings) == 1:
        (one,) = settings
        cause = Phrase(
            "One setting differs: {setting}, {a} before and {b} after.", setting=one.label, a=one.a, b=one.b
        )
    else:
        cause = Phrase("{count:d} settings differ.", count=len(settings))
    count = sum(line.group == "changed" for line in lines)
    total = count + sum(line.group == "unchanged" for line in lines)
    if not count:
        return cause, Phrase("While the generator ran nothing changed by more than chance.")
    effect = Phrase(
        "While the generator ran {count:d} of {total:d} quantities changed by more than chance.",
        count=count,
        total=total,
    )
    return cause, effect


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
    changed = row.verdict in ("more", "less")
    return TableRow(
        "settings" if changed and row.key in _REPORTED else _GROUP_OF[row.verdict],
        row.label,
        value_phrase(row.a, row.unit),
        value_phrase(row.b, row.unit),
        change_phrase(row.change, row.unit),
        Phrase("") if row.verdict == "within chance" else verdict_phrase(row.verdict),
        changed,
        _shift(row),
    )


def _shift(row: Row) -> Shift | None:
    before, change = abs(row.a.value), row.change
    if not before > 0 or not math.isfinite(change.value) or not SDS * change.sd <= _FAR * before:
        return None
    return Shift(change.value / before, SDS * change.sd / before)


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
