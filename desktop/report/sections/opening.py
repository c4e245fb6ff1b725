"""What stands first: what it comes to, what to do, and the picture that tells most."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from desktop.charging.sessions import Session
from desktop.diagnosis.finding import SEVERITIES, Finding
from desktop.report.blocks import Block, Figure, Items, Paragraph
from desktop.report.instants import typical, worst
from desktop.report.pictures import Pictures
from desktop.report.sections.advice import lowering
from desktop.report.times import day_and_clock
from desktop.review import Review
from desktop.review.as_text import MOSTLY
from desktop.words import Phrase, tr

_ABOUT_LIMIT = frozenset({"input_over_limit", "generator_over_rating", "limit_above_rating"})
"""What a lower limit sets right."""

_MOST_HAPPENED = 3
_MOST_ADVICE = 5


@dataclass(frozen=True, slots=True)
class Opening:
    """The blocks, and whose picture is among them: a finding's, a session's, or neither's."""

    blocks: tuple[Block, ...]
    figure: Figure | None = None
    finding: Finding | None = None
    session: Session | None = None


def opening(review: Review, pictures: Pictures) -> Opening:
    """The opening of a report."""
    if len(review) < 2:
        return Opening(())
    told = (*_doubt(review), *_happened(review), *_to_do(review))
    urgent = [one for one in review.findings if one.severity == SEVERITIES[0]]
    if urgent:
        figure = moment_of(review, pictures, urgent[0])
        return Opening((*told, figure), figure, finding=urgent[0])
    if review.sessions:
        longest = max(review.sessions, key=lambda one: one.end - one.start)
        figure = usual_of(review, pictures, longest)
        return Opening((*told, figure), figure, session=longest)
    time = review.recording.time
    instant = typical(review, int(time[0]), int(time[-1]))
    caption = Phrase(
        "The plant at {time}, a typical moment of this recording.",
        time=day_and_clock(instant, review.site.zone),
    )
    figure = pictures.flow(instant, caption)
    return Opening((*told, figure), figure)


def moment_of(review: Review, pictures: Pictures, finding: Finding) -> Figure:
    """The flow diagram when a finding was at its worst."""
    instant = worst(review, finding)
    caption = Phrase("{title}: {time}.", title=finding.title, time=day_and_clock(instant, review.site.zone))
    return pictures.flow(instant, caption)


def usual_of(review: Review, pictures: Pictures, session: Session) -> Figure:
    """The flow diagram as it mostly was in a session."""
    instant = typical(review, session.start, session.end)
    caption = Phrase(
        "The charge as it mostly was: {time}, a typical moment of this session.",
        time=day_and_clock(instant, review.site.zone),
    )
    return pictures.flow(instant, caption)


def _doubt(review: Review) -> Iterator[Paragraph]:
    share = review.balance.in_balance_share
    if not math.isnan(share) and share < MOSTLY:
        yield Paragraph(
            str(
                Phrase(
                    "The powers add up in {share:%} of the rows only: a meter reads wrong, or something is not"
                    " metered. Until that is found, the energies below are in doubt.",
                    share=100 * share,
                )
            ),
            tr("Mind:"),
        )


def _pressing(findings: Sequence[Finding]) -> list[list[Finding]]:
    """Findings that are more than notes, those of a kind together; the most urgent first, then the earliest."""
    kinds: dict[str, list[Finding]] = {}
    for finding in sorted(findings, key=lambda one: (SEVERITIES.index(one.severity), one.start)):
        if finding.severity != SEVERITIES[-1]:
            kinds.setdefault(finding.kind, []).append(finding)
    return list(kinds.values())


def _happened(review: Review) -> Iterator[Block]:
    told = sorted(_pressing(review.findings)[:_MOST_HAPPENED], key=lambda same: same[0].start)
    if not told:
        return
    items: list[tuple[str, str]] = []
    causes: set[str] = set()
    for one, *again in told:
        # What was set off by the same thing is not explained again.
        cause = "" if str(one.cause) in causes else str(one.cause)
        causes.add(cause)
        often = Phrase("It came {count:d} times in all.", count=1 + len(again)) if again else ""
        told_of = " ".join(text for text in (str(one.text), cause, str(often)) if text)
        items.append((f"{day_and_clock(one.start, review.site.zone)}.", told_of))
    yield Paragraph("", tr("What happened"), "lead")
    yield Items(tuple(items))


def _to_do(review: Review) -> Iterator[Block]:
    lower = lowering(review)
    listed = [
        (f"{_counted(same)}.", str(same[0].advice))
        for same in _pressing(review.findings)
        # Two different numbers for one setting would leave the reader with a question.
        if str(same[0].advice) and not (lower and same[0].kind in _ABOUT_LIMIT)
    ]
    if lower:
        until = tr("Until then turn off large loads while the generator runs.")
        listed.insert(0, (f"{tr('AC input limit')}.", f"{lower} {until}"))
    listed += _settings(review)
    if not listed:
        yield Paragraph(tr("Nothing needs to be changed by what this recording shows."))
        return
    yield Paragraph("", tr("What to do"), "lead")
    yield Items(tuple(listed[:_MOST_ADVICE]), ordered=True)
    if len(listed) > _MOST_ADVICE:
        yield Paragraph(tr("The findings below say more."), voice="small")


def _settings(review: Review) -> list[tuple[str, str]]:
    """Settings that failed their check, but for the input limit, of which the findings and the advice tell."""
    how = tr("How to set it stands under Settings check.")
    return [
        (f"{check.title}.", f"{check.means} {how}")
        for check in review.checks
        if check.state == "fail" and not check.key.startswith("limit")
    ]


def _counted(same: Sequence[Finding]) -> str:
    if len(same) == 1:
        return str(same[0].title)
    return str(Phrase("{title} ({count:d} times)", title=same[0].title, count=len(same)))
