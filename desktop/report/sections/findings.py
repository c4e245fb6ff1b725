"""What happened in order of time: what led to it, why, what to do, and pictures of what was urgent.

What the first page tells in full is not told again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from desktop.diagnosis.causes.chain import Link
from desktop.diagnosis.finding import SEVERITIES, SEVERITY_NAMES
from desktop.report.account import Account
from desktop.report.blocks import Block, Items, Marked, Paragraph, Plain, Section, Table
from desktop.report.incidents import Incident
from desktop.report.pictures import Pictures
from desktop.report.sections.course import more
from desktop.report.sections.opening import Opening, moment_of
from desktop.report.times import length
from desktop.words import Phrase, local, tr

MOST_PICTURES = 6
"""So many urgent incidents have pictures of their own."""

MOST_TOLD = 24
"""So many incidents are told in full; the others are listed."""

MOST_LISTED = 100

_AROUND_S = 150.0
_LONGEST_CLOSE_S = 300.0
_LONGEST_CHAIN_S = 1800.0


def findings(account: Account, pictures: Pictures, opening: Opening) -> Section | None:
    """The findings; None where there are none."""
    every = account.incidents
    if not every:
        return None
    told = _told(every)
    first = {one.kind: one for one in reversed(every)}
    shown = [id(one) for one in every if one.severity == SEVERITIES[0]][:MOST_PICTURES]
    blocks: list[Block] = []
    pictured_until = 0
    chains = _Chains(account)
    for one in (each for each in every if id(each) in told):
        inside = [*_words(one, opening), *chains.chain(one), *_beside(account, one), *_advice(one, opening)]
        if id(one) in shown:
            whole = first[one.kind] is one
            inside += _pictures(account, pictures, opening, one, pictured_until, whole=whole)
            pictured_until = max(pictured_until, _close(one)[1])
        elif first[one.kind] is one:
            inside += _curve(account, pictures, one)
        blocks.append(_marked(account, one, inside))
    blocks += _listed(account, [one for one in every if id(one) not in told])
    return Section("findings", tr("Findings"), tuple(blocks))


def _told(every: Sequence[Incident]) -> set[int]:
    """The first of each kind, and of the others the most urgent; of equally urgent ones the earliest."""
    first = {one.kind: one for one in reversed(every)}
    ranked = sorted(
        every,
        key=lambda one: (first[one.kind] is not one, SEVERITIES.index(one.severity), one.first.start),
    )
    return {id(one) for one in ranked[:MOST_TOLD]}


def _marked(account: Account, one: Incident, inside: Sequence[Plain]) -> Marked:
    word = tr(SEVERITY_NAMES[one.severity])
    return Marked(one.severity, word, one.title, _when(account, one), tuple(inside))


def _when(account: Account, one: Incident) -> str:
    start = account.clock(one.first.start)
    if one.end is None:
        return str(Phrase("{start}, still standing at the end", start=start))
    return str(Phrase("{start}, for {span}", start=start, span=length(one.first.start, one.end)))


def _words(one: Incident, opening: Opening) -> Iterator[Plain]:
    if one in opening.told:
        top = tr("What it was, why, and what to do stands at the top.")
        if one is opening.incident and opening.figure is not None:
            seen = Phrase("Figure {number:d} shows the moment.", number=opening.figure.number)
            top = f"{top} {seen}"
        yield Paragraph(top, voice="small")
        return
    for finding in one.findings:
        yield Paragraph(str(finding.text))
    if str(one.main.cause):
        yield Paragraph(str(one.main.cause), tr("Why:"))


def _advice(one: Incident, opening: Opening) -> Iterator[Plain]:
    if one not in opening.told and str(one.main.advice):
        yield Paragraph(str(one.main.advice), tr("What to do:"))


def _beside(account: Account, one: Incident) -> Iterator[Plain]:
    """Findings that are of the same matter, by name."""
    if not one.beside:
        return
    names = "; ".join(f"{each.title} ({account.minute(each.start)})" for each in one.beside)
    yield Paragraph(f"{names}.", tr("Belongs to it:"))


class _Chains:
    """What led to each incident, told once."""

    def __init__(self, account: Account) -> None:
        self._account = account
        self._told: set[tuple[Link, ...]] = set()

    def chain(self, one: Incident) -> Iterator[Plain]:
        """What led to an incident, a line per event."""
        chain = one.chain
        if chain is None or not chain.links or chain.links in self._told:
            return
        self._told.add(chain.links)
        long = chain.links[-1].time - chain.links[0].time > _LONGEST_CHAIN_S * 1e9
        when = self._account.minute if long else self._account.clock
        yield Paragraph("", tr("What led to it:"))
        yield Items(tuple((f"{when(link.time)}.", str(link.text)) for link in chain.links))
        for phrase in chain.unknown:
            yield Paragraph(str(phrase), tr("Not known:"))


def _pictures(
    account: Account, pictures: Pictures, opening: Opening, one: Incident, until: int, *, whole: bool
) -> Iterator[Plain]:
    """What came before and after, and the moments themselves of the first of its kind.

    until  what came before this is pictured already, UTC nanoseconds
    """
    flows = whole and not account.in_doubt
    if flows and one is not opening.incident:
        yield moment_of(account, pictures, one)
    if one.first.start > until:
        yield _around(account, pictures, one)
    if flows and len(one.findings) > 1:
        yield moment_of(account, pictures, one, after=True)


def _curve(account: Account, pictures: Pictures, one: Incident) -> Iterator[Plain]:
    """What an incident was seen in, over its time, where the trends of the whole don't show it."""
    pane = pictures.pane_of(one.first.channel)
    if not one.pressing or pane in ("", "power", "soc", "unaccounted") or one.main.kind == "meter_suspect":
        return
    start, end = one.first.start, one.end or int(account.review.recording.time[-1])
    margin = max((end - start) // 10, round(_AROUND_S * 1e9))
    caption = Phrase("{title}: what was recorded then.", title=one.title)
    yield pictures.trends((pane,), account.noted(str(caption)), between=(start - margin, end + margin))


def _around(account: Account, pictures: Pictures, one: Incident) -> Plain:
    between = _close(one)
    panes = ("powers", pictures.pane_of(one.first.channel), "generator_frequency")
    text = Phrase(
        "What came before and after: {span:time} around {time}.",
        span=(between[1] - between[0]) / 1e9,
        time=local(one.first.start, account.review.site.zone).strftime("%H:%M:%S"),
    )
    at = [finding.start for finding in one.findings]
    return pictures.trends(panes, account.noted(str(text)), between=between, at=at)


def _close(one: Incident) -> tuple[int, int]:
    """The span to look at closely, UTC nanoseconds."""
    around, most = round(_AROUND_S * 1e9), round(_LONGEST_CLOSE_S * 1e9)
    start, end = one.first.start, one.first.end
    lasted = most if end is None else min(end - start, most)
    return start - around, start + lasted + around


def _listed(account: Account, rest: Sequence[Incident]) -> Iterator[Block]:
    if not rest:
        return
    rows = tuple(
        (
            account.clock(one.first.start),
            tr("still standing") if one.end is None else length(one.first.start, one.end),
            tr(SEVERITY_NAMES[one.severity]),
            one.title,
        )
        for one in rest[:MOST_LISTED]
    )
    head = (tr("Start"), tr("Duration"), tr("How urgent"), tr("Finding"))
    yield Table(tr("Further findings"), head, rows)
    yield from more(len(rest) - MOST_LISTED)
