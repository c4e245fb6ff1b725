"""A suspect that is named alone, as a finding."""

from __future__ import annotations

import math
from collections.abc import Iterable

from desktop.diagnosis.finding import Finding
from desktop.diagnosis.suspects.suspect import Suspect
from desktop.words import Phrase


def suspect_findings(suspects: Iterable[Suspect]) -> tuple[Finding, ...]:
    """One finding for each clear suspect; those that can't be told apart from others are no finding."""
    return tuple(_finding(suspect) for suspect in suspects if suspect.clear)


def _finding(suspect: Suspect) -> Finding:
    return Finding(
        kind="meter_suspect",
        start=suspect.start,
        end=suspect.end,
        channel=suspect.channel,
        peak=suspect.parameter,
        threshold=math.nan,
        unit=suspect.unit,
        title=Phrase("A meter seems to read wrong"),
        text=Phrase(
            "{what} With that put right {share:%} of the imbalance is gone.",
            what=suspect.text,
            share=100 * suspect.explains,
        ),
        cause=Phrase(""),
        advice=suspect.advice,
    )
