"""The check of the settings: what failed in full, with how to set it; then what passed and what isn't known."""

from __future__ import annotations

import math
from collections.abc import Sequence

from desktop.diagnosis.settings_check.check import STATE_NAMES, Check
from desktop.report.blocks import Block, Items, Marked, Paragraph, Plain, Section, Table
from desktop.review import Review
from desktop.review.checks import value_text
from desktop.words import tr


def checks(review: Review) -> Section | None:
    """The check of the settings; None where there is nothing to check."""
    every = review.checks
    if not every:
        return None
    failed = [one for one in every if one.state == "fail"]
    others = [one for state in ("pass", "unknown") for one in every if one.state == state]
    blocks: list[Block] = [_failed(one) for one in failed]
    if not failed:
        blocks.append(Paragraph(tr("No setting was found to be wrong.")))
    if others:
        blocks.append(_table(others))
    return Section("checks", tr("Settings check"), tuple(blocks))


def _failed(check: Check) -> Marked:
    values = [("", value_text(value)) for value in check.values if math.isfinite(value.value)]
    inside: list[Plain] = [Paragraph(str(check.means))]
    if values:
        inside.append(Items(tuple(values)))
    if str(check.how):
        inside.append(Paragraph(str(check.how), tr("How to set it:")))
    return Marked("attend", tr(STATE_NAMES[check.state]), str(check.title), "", tuple(inside))


def _table(others: Sequence[Check]) -> Table:
    rows = tuple((str(one.title), tr(STATE_NAMES[one.state]), str(one.means)) for one in others)
    return Table(tr("What else was checked"), (tr("Check"), tr("Result"), tr("What it means")), rows)
