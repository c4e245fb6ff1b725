"""The check of the settings: what failed, with how to set it; what passed; and what can't be checked."""

from __future__ import annotations

from desktop.diagnosis.settings_check.check import STATE_NAMES, Check
from desktop.report.account import Account
from desktop.report.blocks import Block, Items, Marked, Paragraph, Plain, Section, Table
from desktop.words import Phrase, tr


def checks(account: Account) -> Section | None:
    """The check of the settings; None where there is nothing to check."""
    every = account.review.checks
    if not every:
        return None
    failed, passed, unknown = (
        [one for one in every if one.state == state] for state in ("fail", "pass", "unknown")
    )
    blocks: list[Block] = [_failed(one) for one in failed]
    if not failed:
        blocks.append(Paragraph(tr("No setting was found to be wrong.")))
    if passed:
        rows = tuple((str(one.title), tr(STATE_NAMES[one.state]), str(one.means)) for one in passed)
        head = (tr("Check"), tr("Result"), tr("What it means"))
        blocks.append(Table(tr("What was found to be right"), head, rows))
    if unknown:
        count = Phrase("Checks that were not possible: {count:d}.", count=len(unknown))
        blocks.append(Paragraph(str(count)))
        blocks.append(
            Items(tuple((f"{one.title}.", str(one.means)) for one in unknown), whole=True, small=True)
        )
    return Section("checks", tr("Settings check"), tuple(blocks))


def _failed(check: Check) -> Marked:
    inside: list[Plain] = [Paragraph(str(check.means))]
    if str(check.how):
        inside.append(Paragraph(str(check.how), tr("How to set it:")))
    return Marked("attend", tr(STATE_NAMES[check.state]), str(check.title), "", tuple(inside))
