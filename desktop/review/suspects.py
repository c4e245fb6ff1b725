"""Suspected meters as JSON values and as lines for people."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from desktop.diagnosis.suspects.suspect import Suspect
from desktop.review.json_values import Object, number, stamp
from desktop.words import Phrase, tr


def suspects_json(suspects: Iterable[Suspect]) -> list[Object]:
    """One object per suspect; rivals are objects of the same shape, without rivals of their own."""
    return [
        {
            "channel": suspect.channel,
            "fault": suspect.fault,
            "parameter": number(suspect.parameter),
            "parameter_sd": number(suspect.parameter_sd),
            "unit": suspect.unit,
            "explains": number(suspect.explains),
            "rivals": suspects_json(suspect.rivals),
            "text": str(suspect.text),
            "advice": str(suspect.advice),
            "start": stamp(suspect.start),
            "end": stamp(suspect.end),
        }
        for suspect in suspects
    ]


def suspects_text(suspects: Iterable[Suspect]) -> Iterator[str]:
    """A heading, and per suspect what is wrong, what fits as well, and how to make sure; else nothing."""
    found = list(suspects)
    if not found:
        return
    yield tr("Meters")
    for suspect in found:
        yield "  " + str(
            Phrase(
                "{what} With that put right {share:%} of the imbalance is gone.",
                what=suspect.text,
                share=100 * suspect.explains,
            )
        )
        for rival in suspect.rivals:
            yield "  " + str(Phrase("It may as well be: {what}", what=rival.text))
        yield "  " + str(suspect.advice)
