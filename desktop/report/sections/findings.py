"""The findings in order of time, each with what happened, why, what to do, and pictures of the urgent ones."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from desktop.diagnosis.causes.chain import Link
from desktop.diagnosis.finding import SEVERITIES, SEVERITY_NAMES, Finding
from desktop.report.blocks import Block, Items, Marked, Paragraph, Plain, Section, Table
from desktop.report.pictures import Pictures
from desktop.report.sections.course import more
from desktop.report.sections.opening import Opening, moment_of
from desktop.report.times import day_and_clock, length
from desktop.review import Review
from desktop.words import Phrase, clock, duration, local, tr

MOST_PICTURES = 6
"""So many urgent findings have pictures of their own."""

MOST_TOLD = 24
"""So many findings are told in full; the others are listed."""

MOST_LISTED = 100

_AROUND_S = 150.0
_LONGEST_CLOSE_S = 300.0


def findings(review: Review, pictures: Pictures, opening: Opening) -> Section | None:
    """The findings; None where there are none."""
    every = review.findings
    if not every:
        return None
    told = _told(every)
    shown = [one for one in every if one.severity == SEVERITIES[0]][:MOST_PICTURES]
    blocks: list[Block] = []
    pictured_until = 0
    told_of = _Chains(review)
    for finding in (one for one in every if id(one) in told):
        inside = [*_words(finding), *told_of.chain(finding), *_advice(finding)]
        if finding in shown:
            inside += _pictures(review, pictures, opening, finding, pictured_until)
            pictured_until = max(pictured_until, _close(finding)[1])
        blocks.append(_marked(review, finding, inside))
    blocks += _listed(review, [one for one in every if id(one) not in told])
    return Section("findings", tr("Findings"), tuple(blocks))


def _told(every: Sequence[Finding]) -> set[int]:
    """The first of each kind, and of the others the most urgent; of equally urgent ones the earliest."""
    first = {one.kind: one for one in reversed(every)}
    ranked = sorted(
        every, key=lambda one: (first[one.kind] is not one, SEVERITIES.index(one.severity), one.start)
    )
    return {id(one) for one in ranked[:MOST_TOLD]}


def _marked(review: Review, finding: Finding, inside: Sequence[Plain]) -> Marked:
    return Marked(
        finding.severity,
        tr(SEVERITY_NAMES[finding.severity]),
        str(finding.title),
        _when(review, finding),
        tuple(inside),
    )


def _when(review: Review, finding: Finding) -> str:
    start = day_and_clock(finding.start, review.site.zone)
    if finding.end is None:
        return str(Phrase("{start}, still standing at the end", start=start))
    return str(Phrase("{start}, for {span}", start=start, span=length(finding.start, finding.end)))


def _words(finding: Finding) -> Iterator[Plain]:
    yield Paragraph(str(finding.text))
    if str(finding.cause):
        yield Paragraph(str(finding.cause), tr("Why:"))


def _advice(finding: Finding) -> Iterator[Plain]:
    if str(finding.advice):
        yield Paragraph(str(finding.advice), tr("What to do:"))


class _Chains:
    """What led to each finding, told once."""

    def __init__(self, review: Review) -> None:
        self._zone = review.site.zone
        self._chains = {(one.finding, one.start): one for one in review.chains}
        self._told: set[tuple[Link, ...]] = set()

    def chain(self, finding: Finding) -> Iterator[Plain]:
        """What led to a finding, a line per event."""
        chain = self._chains.get((finding.kind, finding.start))
        if chain is None or not chain.links:
            return
        if chain.links in self._told:
            yield Paragraph(tr("The same led to it."), voice="small")
            return
        self._told.add(chain.links)
        yield Paragraph("", tr("What led to it:"))
        yield Items(tuple((f"{clock(link.time, self._zone)}.", str(link.text)) for link in chain.links))
        for phrase in chain.unknown:
            yield Paragraph(str(phrase), tr("Not known:"))


def _pictures(
    review: Review, pictures: Pictures, opening: Opening, finding: Finding, pictured_until: int
) -> Iterator[Plain]:
    if finding is opening.finding and opening.figure is not None:
        text = Phrase("Figure {number:d} shows that moment.", number=opening.figure.number)
        yield Paragraph(str(text), voice="small")
    else:
        yield moment_of(review, pictures, finding)
    between = _close(finding)
    if finding.start > pictured_until:
        panes = ("power", pictures.pane_of(finding.channel), "generator_frequency")
        text = Phrase(
            "What came before and after: {span:time} around {time}.",
            span=(between[1] - between[0]) / 1e9,
            time=local(finding.start, review.site.zone).strftime("%H:%M:%S"),
        )
        yield pictures.trends(panes, text, between=between, at=[finding.start])


def _close(finding: Finding) -> tuple[int, int]:
    """The span to look at closely, UTC nanoseconds."""
    around, most = round(_AROUND_S * 1e9), round(_LONGEST_CLOSE_S * 1e9)
    lasted = most if finding.end is None else min(finding.end - finding.start, most)
    return finding.start - around, finding.start + lasted + around


def _listed(review: Review, rest: Sequence[Finding]) -> Iterator[Block]:
    if not rest:
        return
    rows = tuple(
        (
            day_and_clock(one.start, review.site.zone),
            duration(((one.end or one.start) - one.start) / 1e9) if one.end else tr("still standing"),
            tr(SEVERITY_NAMES[one.severity]),
            str(one.title),
        )
        for one in rest[:MOST_LISTED]
    )
    head = (tr("Start"), tr("Duration"), tr("How urgent"), tr("Finding"))
    yield Table(tr("Further findings"), head, rows)
    yield from more(len(rest) - MOST_LISTED)
