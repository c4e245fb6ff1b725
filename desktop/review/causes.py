"""Causes as JSON values and as lines for people."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import tzinfo
from typing import Any

from desktop.diagnosis.causes.chain import Chain
from desktop.review.json_values import number, stamp
from desktop.words import Phrase, clock, day, tr


def causes_json(chains: Iterable[Chain]) -> list[dict[str, Any]]:
    """One object per urgent finding, in the order of the findings; `finding` and `start` say which it is."""
    return [
        {
            "finding": chain.finding,
            "start": stamp(chain.start),
            "cause": str(chain.cause),
            "certain": chain.certain,
            "chain": [
                {
                    "time": stamp(link.time),
                    "kind": link.kind,
                    "value": number(link.value),
                    "unit": link.unit,
                    "text": str(link.text),
                }
                for link in chain.links
            ],
            "unknown": [str(phrase) for phrase in chain.unknown],
        }
        for chain in chains
    ]


def causes_text(chain: Chain, zone: tzinfo) -> Iterator[str]:
    """The chain of one finding: a line per event, with its clock time."""
    if not chain.links:
        return
    yield tr("What led to it:")
    for link in chain.links:
        yield f"  {_stamp(link.time, chain.start, zone)}  {link.text}"
    for phrase in chain.unknown:
        yield "  " + str(Phrase("Not known: {what}", what=phrase))


def _stamp(instant: int, beside: int, zone: tzinfo) -> str:
    """The clock time, with the day where it isn't that of the finding."""
    told = clock(instant, zone)
    return told if day(instant, zone) == day(beside, zone) else f"{day(instant, zone)} {told}"
