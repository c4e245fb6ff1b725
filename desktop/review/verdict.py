"""What a recording comes to: the gravest thing that happened, why, and what to change."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import tzinfo
from typing import TYPE_CHECKING

from desktop.diagnosis.finding import SEVERITIES, Finding
from desktop.review.course import achieved
from desktop.review.sentence import joined
from desktop.words import Phrase

if TYPE_CHECKING:
    from desktop.review.reviewing import Review

_ONE_DAY_NS = 86_400_000_000_000

_LEADING = ("generator_stopped_under_load", "meter_suspect")
"""Of findings that are equally urgent these come first: a trip is what the others led to, and a meter that
reads wrong is what made the others up."""


def leading(findings: Sequence[Finding]) -> Finding | None:
    """The finding that says most of what happened; None where there is none."""
    return min(findings, key=_rank, default=None)


def verdict(review: Review) -> Phrase:
    """What a recording comes to, in two or three sentences."""
    if len(review) < 2:
        return Phrase("There are too few rows to say anything.")
    first = leading(review.findings)
    if first is None:
        return joined(_nothing(review), *achieved(review))
    if first.severity == "note":
        look = Phrase("Nothing is wrong; one thing is worth a look.")
        return joined(*achieved(review), look, first.text, first.advice)
    return joined(_what(review, first), first.cause or first.text, first.advice)


def _nothing(review: Review) -> Phrase:
    if review.recording.provenance.unclear:
        return Phrase("Nothing wrong was found in what was understood of the file.")
    return Phrase("Nothing wrong was found.")


def tally(findings: Sequence[Finding]) -> Phrase:
    """How many findings there are of each urgency; an empty phrase where there is one or none."""
    if len(findings) < 2:
        return Phrase("")
    urgent, other, notes = (sum(one.severity == level for one in findings) for level in SEVERITIES)
    return Phrase(
        "Findings in all: {urgent:d} to act on, {other:d} to attend to, {notes:d} to note.",
        urgent=urgent,
        other=other,
        notes=notes,
    )


def _rank(finding: Finding) -> tuple[int, int, int]:
    ahead = _LEADING.index(finding.kind) if finding.kind in _LEADING else len(_LEADING)
    return SEVERITIES.index(finding.severity), ahead, finding.start


def _what(review: Review, finding: Finding) -> Phrase:
    """The finding's title, and when it was."""
    time, zone = review.recording.time, review.site.zone
    when = _when(finding.start, zone, long=int(time[-1]) - int(time[0]) > _ONE_DAY_NS)
    again = sum(one.kind == finding.kind for one in review.findings)
    if again > 1:
        return Phrase(
            "{title}, {count:d} times, first at {when}.", title=finding.title, count=again, when=when
        )
    return Phrase("{title} at {when}.", title=finding.title, when=when)


def _when(instant: int, zone: tzinfo, *, long: bool) -> Phrase:
    if long:
        return Phrase("{time:clock} on {time:day}", zone, time=instant)
    return Phrase("{time:clock}", zone, time=instant)
