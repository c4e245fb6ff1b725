"""What the generator burnt, and what is left."""

from __future__ import annotations

from desktop.report.account import Account
from desktop.report.blocks import Block, Paragraph, Section
from desktop.review.fuel import fuel_text
from desktop.words import tr


def fuel(account: Account) -> Section | None:
    """The fuel of all sessions; None where nothing is known of it. What each burnt stands among the sessions."""
    told = fuel_text(account.review.fuel)
    if not told:
        return None
    blocks: tuple[Block, ...] = (Paragraph(" ".join(told)),)
    if account.note:
        blocks += (Paragraph(account.note, voice="small"),)
    return Section("fuel", tr("Fuel"), blocks)
