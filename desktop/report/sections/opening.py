"""What stands first: what happened and why, what to do, what is dangerous, how sure it is, and what it came to."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from desktop.charging.advice.against import against
from desktop.charging.sessions import Session
from desktop.report.account import Account
from desktop.report.blocks import Block, Figure, Items, Paragraph
from desktop.report.incidents import Incident
from desktop.report.pictures import Pictures
from desktop.report.sections.advice import limit_sentence, why
from desktop.report.sections.dangers import dangers
from desktop.report.sections.facts import facts
from desktop.review.advised import limit_set
from desktop.review.corrected import MOSTLY
from desktop.review.course import by_the_sun, charged_phrase, grid_phrases
from desktop.review.telling import typical, worst
from desktop.words import Phrase, template, tr

_MOST_HAPPENED = 3
_MOST_AGAIN = 4
_MOST_ADVICE = 5
_SECONDS_S = 2.0

_OF_A_TIME = frozenset(
    {
        "meter_suspect",
        "power_unaccounted",
        "soc_disagrees",
        "soc_jump",
        "limit_above_rating",
        "telemetry_gap",
        "telemetry_stuck",
        "clock_jump",
    }
)
"""Kinds that no moment shows better than another."""

_STOPS = {
    "normal": template("The generator was relieved of its load before it stopped."),
    "under load": template("It stopped under load."),
    "dry tank": template("It stopped with a dry tank."),
    "unclear": template("How it stopped is not known."),
    "still running": template("It is still running."),
}


@dataclass(frozen=True, slots=True)
class Opening:
    """The blocks, what they tell in full, and whose picture is among them."""

    blocks: tuple[Block, ...]
    told: tuple[Incident, ...] = ()
    figure: Figure | None = None
    incident: Incident | None = None
    session: Session | None = None


def verdict_of(account: Account) -> str:
    """What it comes to: what happened and why, else what was achieved."""
    review, lead = account.review, account.leading
    if len(review) < 2:
        return tr("There are too few rows to say anything.")
    if lead is None:
        return " ".join([tr("Nothing wrong was found."), *_achieved(account)])
    if not lead.pressing:
        look = tr("Nothing is wrong; one thing is worth a look.")
        if len(account.incidents) > 1:
            look = tr("Nothing is wrong; some things are worth a look.")
        return " ".join([*_achieved(account), look])
    main = lead.main
    what = f"{lead.title}: {account.minute(lead.first.start)}."
    return " ".join(text for text in (what, str(main.cause) or str(main.text)) if text)


def opening(account: Account, pictures: Pictures) -> Opening:
    """The opening of a report."""
    if len(account.review) < 2:
        return Opening(())
    told = account.pressing[:_MOST_HAPPENED] or account.notes[:_MOST_HAPPENED]
    blocks: tuple[Block, ...] = (
        *_reckoned(account),
        *facts(account),
        *_happened(account, told),
        *_to_do(account),
        *dangers(account),
        *_sure(account),
    )
    every = tuple(one for same in told for one in same)
    return _pictured(account, pictures, blocks, every)


def _pictured(
    account: Account, pictures: Pictures, blocks: tuple[Block, ...], told: tuple[Incident, ...]
) -> Opening:
    review, lead = account.review, account.leading
    if account.in_doubt:
        return Opening(blocks, told)
    if lead is not None and lead.pressing and lead.main.kind not in _OF_A_TIME:
        figure = moment_of(account, pictures, lead)
        return Opening((*blocks, figure), told, figure, incident=lead)
    longest = account.longest
    if longest is not None:
        figure = usual_of(account, pictures, longest)
        return Opening((*blocks, figure), told, figure, session=longest)
    time = review.recording.time
    instant = typical(review, int(time[0]), int(time[-1]))
    caption = Phrase(
        "The plant at {time}, a typical moment of this recording.",
        time=account.clock(instant),
    )
    figure = pictures.flow(instant, account.noted(str(caption)))
    return Opening((*blocks, figure), told, figure)


def moment_of(account: Account, pictures: Pictures, incident: Incident, after: bool = False) -> Figure:
    """The flow diagram when an incident was at its worst.

    after  True for its last finding, instead of its first
    """
    finding = incident.findings[-1 if after else 0]
    instant = worst(account.review, finding)
    caption = Phrase("{title}: {time}.", title=finding.title, time=account.clock(instant))
    return pictures.flow(instant, account.noted(str(caption)))


def usual_of(account: Account, pictures: Pictures, session: Session) -> Figure:
    """The flow diagram as it mostly was in a session."""
    instant = typical(account.review, session.start, session.end)
    caption = Phrase(
        "The charge as it mostly was: {time}, a typical moment of this session.",
        time=account.clock(instant),
    )
    return pictures.flow(instant, account.noted(str(caption)))


def _reckoned(account: Account) -> Iterator[Paragraph]:
    """How figures are reckoned, where not as recorded."""
    figures = account.figures
    if figures.in_doubt:
        share = Phrase(
            "The powers add up in {share:%} of the rows only: a meter reads wrong, or something is not metered."
            " Until that is found, energies and fuel are in doubt, and are marked so; pictures show what the"
            " meters read.",
            share=100 * figures.recorded.balance.in_balance_share,
        )
        yield Paragraph(str(share), tr("Mind:"))
    elif figures.put_right is not None:
        yield Paragraph(account.note, tr("All figures in this report:"))


def _achieved(account: Account) -> Iterator[str]:
    """What the charges brought, in a sentence or two."""
    longest, every = account.longest, account.review.sessions
    if longest is None:
        yield from map(str, by_the_sun(account.review))
        return
    yield str(charged_phrase(longest))
    if len(every) == 1:
        yield tr(_STOPS[longest.stop])
    yield from map(str, grid_phrases(account.review))


def _happened(account: Account, told: Sequence[Sequence[Incident]]) -> Iterator[Block]:
    items = [item for same in told for item in _told_of(account, same)]
    lead = account.leading
    if lead is not None and lead.pressing and lead.main.kind in _OF_A_TIME and not account.in_doubt:
        items = [*(("", text) for text in _achieved(account)), *items]
    if items:
        yield Paragraph("", tr("What happened"), "lead")
        yield Items(tuple(items))


def _told_of(account: Account, same: Sequence[Incident]) -> Iterator[tuple[str, str]]:
    """The first of incidents that are alike in full, then when the others were and for how long."""
    one = same[0]
    for number, finding in enumerate(one.findings):
        when = f"{account.clock(finding.start)}."
        # Why stands above for the incident that leads.
        cause = "" if one is account.leading or number else str(finding.cause)
        if one is account.leading and one.pressing and not str(finding.cause):
            continue
        yield when, " ".join(text for text in (str(finding.text), cause) if text)
    if one.first.kind == "meter_suspect" and one.beside:
        gone = "; ".join(dict.fromkeys(str(each.title) for each in one.beside))
        yield tr("This alone is why these were found as well:"), f"{gone}."
    yield from _again(account, same)


def _again(account: Account, same: Sequence[Incident]) -> Iterator[tuple[str, str]]:
    """The others of incidents that are alike: those that read differently with their numbers, the rest by time."""
    seen = {_words(same[0])}
    later = same[1 : 1 + _MOST_AGAIN]
    for one in later:
        if _words(one) not in seen:
            yield f"{account.clock(one.first.start)}.", _words(one)
        seen.add(_words(one))
    equal = [account.clock(one.first.start) for one in later if _words(one) == _words(same[0])]
    if equal:
        yield f"{', '.join(equal)}.", tr("The same again.")
    if len(same) > 1 + _MOST_AGAIN:
        yield "", str(Phrase("And {count:d} more.", count=len(same) - 1 - _MOST_AGAIN))


def _words(one: Incident) -> str:
    """What it was and why."""
    return " ".join(text for text in (str(one.main.text), str(one.main.cause)) if text)


def _to_do(account: Account) -> Iterator[Block]:
    every = account.pressing or account.notes
    listed = [(f"{_counted(same)}.", str(same[0].main.advice)) for same in every if str(same[0].main.advice)]
    listed += _settings(account)
    limit = [] if account.pressing or account.in_doubt else list(limit_sentence(account.review))
    if limit and limit[0].changes:
        listed.append((f"{tr('AC input limit')}.", limit[0].text))
    if not listed:
        yield Paragraph(tr("Nothing needs to be changed by what this recording shows."))
    if listed:
        yield Paragraph("", tr("What to do"), "lead")
        yield Items(tuple(listed[:_MOST_ADVICE]), ordered=True)
        yield from _why_limit(account, named=bool(limit))
    if limit and not limit[0].changes:
        yield Paragraph(limit[0].text, f"{tr('AC input limit')}:")
    if len(listed) > _MOST_ADVICE:
        yield Paragraph(tr("The findings below say more."), voice="small")


def _why_limit(account: Account, *, named: bool) -> Iterator[Paragraph]:
    """Why the limit that is advised, where a lower one is called for, or this list names another one."""
    if account.in_doubt:
        return
    told = against(account.review.limit_advice, limit_set(account.review))
    if told is not None and not told.stands_well and (named or told.lower_to is not None):
        yield from why(account.review, whole=False)


def _settings(account: Account) -> list[tuple[str, str]]:
    """Settings that failed their check, but for the input limit, of which the findings and the advice tell."""
    how = tr("How to set it stands under Settings check.")
    return [
        (f"{check.title}.", " ".join(text for text in (str(check.set_to), how) if text))
        for check in account.review.checks
        if check.state == "fail" and not check.key.startswith("limit")
    ]


def _sure(account: Account) -> Iterator[Paragraph]:
    """How far all this can be relied on."""
    if account.in_doubt:
        return
    told = " ".join(str(one) for one in (*_agreement(account), *_certainty(account)))
    yield Paragraph(told, tr("How sure this is:"))


def _agreement(account: Account) -> Iterator[Phrase]:
    share, before = (each.balance.in_balance_share for each in (account.review, account.figures.recorded))
    if math.isnan(share):
        yield Phrase("No power is metered twice, so the meters can't be held against each other.")
    elif account.figures.put_right is not None:
        yield Phrase(
            "With that put right the powers add up in {share:%} of the rows; as recorded, in {before:%} of them.",
            share=100 * share,
            before=100 * before,
        )
    elif share >= MOSTLY:
        yield Phrase(
            "The meters agree with each other: the powers add up in {share:%} of the rows.", share=100 * share
        )


def _certainty(account: Account) -> Iterator[Phrase]:
    lead = account.leading
    if lead is None or lead.chain is None or not lead.pressing:
        return
    if lead.chain.certain and account.review.interval_s <= _SECONDS_S and lead.chain.links:
        yield Phrase("What led to it can be followed in the readings second by second.")
    yield from (Phrase("Not known: {what}", what=one) for one in lead.chain.unknown)


def _counted(same: Sequence[Incident]) -> str:
    if len(same) == 1:
        return same[0].title
    return str(Phrase("{title} ({count:d} times)", title=same[0].title, count=len(same)))
