"""Which meter is suspected to read wrong, on what evidence, and how to make sure. All of it is as recorded."""

from __future__ import annotations

from desktop.diagnosis.suspects import Suspect
from desktop.report.account import Account
from desktop.report.blocks import Items, Marked, Paragraph, Plain, Section
from desktop.report.pictures import Pictures
from desktop.report.times import span
from desktop.words import Phrase, tr

_MOST_PICTURES = 3


def suspects(account: Account, pictures: Pictures) -> Section | None:
    """The suspects; None where there are none."""
    found = account.figures.recorded.suspects
    if not found:
        return None
    told = tuple(
        _suspect(one, account, pictures, number < _MOST_PICTURES) for number, one in enumerate(found)
    )
    return Section("suspects", tr("Meters that may read wrong"), told)


def _suspect(suspect: Suspect, account: Account, pictures: Pictures, pictured: bool) -> Marked:
    recorded = account.figures.recorded
    share = Phrase("With that put right {share:%} of the imbalance is gone.", share=100 * suspect.explains)
    inside: list[Plain] = [Paragraph(str(share), tr("Evidence:"))]
    if suspect.rivals:
        inside.append(Paragraph(tr("It may as well be:")))
        inside.append(Items(tuple(("", str(rival.text)) for rival in suspect.rivals)))
    # One that is named alone is told of at the top, with what to do.
    if str(suspect.advice) and not suspect.clear:
        inside.append(Paragraph(str(suspect.advice), tr("What to do:")))
    caption = tr("What doesn't add up, as recorded and with that put right.")
    figure = pictures.imbalance(recorded.evidence_against(suspect), caption) if pictured else None
    if figure is not None:
        inside.append(figure)
    when = span(suspect.start, suspect.end, recorded.site.zone)
    return Marked("attend", tr("suspect"), str(suspect.text), when, tuple(inside))
