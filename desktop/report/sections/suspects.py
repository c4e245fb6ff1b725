"""Which meter is suspected to read wrong, on what evidence, and how to make sure."""

from __future__ import annotations

from desktop.diagnosis.suspects import Suspect
from desktop.report.blocks import Items, Marked, Paragraph, Plain, Section
from desktop.report.pictures import Pictures
from desktop.report.times import span
from desktop.review import Review
from desktop.words import Phrase, tr

_MOST_PICTURES = 3


def suspects(review: Review, pictures: Pictures) -> Section | None:
    """The suspects; None where there are none."""
    found = review.suspects
    if not found:
        return None
    told = tuple(_suspect(one, review, pictures, number < _MOST_PICTURES) for number, one in enumerate(found))
    return Section("suspects", tr("Meters that may read wrong"), told)


def _suspect(suspect: Suspect, review: Review, pictures: Pictures, pictured: bool) -> Marked:
    share = Phrase("With that put right {share:%} of the imbalance is gone.", share=100 * suspect.explains)
    inside: list[Plain] = [Paragraph(str(share), tr("Evidence:"))]
    if suspect.rivals:
        inside.append(Paragraph(tr("It may as well be:")))
        inside.append(Items(tuple(("", str(rival.text)) for rival in suspect.rivals)))
    if str(suspect.advice):
        inside.append(Paragraph(str(suspect.advice), tr("What to do:")))
    caption = Phrase("What doesn't add up, as recorded and with that put right.")
    figure = pictures.imbalance(review.evidence_against(suspect), caption) if pictured else None
    if figure is not None:
        inside.append(figure)
    when = span(suspect.start, suspect.end, review.site.zone)
    return Marked("attend", tr("suspect"), str(suspect.text), when, tuple(inside))
