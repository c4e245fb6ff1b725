"""Chains of what asked too much of the generator: over the input limit, over the rating, up to the trip."""

from __future__ import annotations

import math

from desktop.charging.stops import Halt
from desktop.diagnosis.causes.asked import (
    COARSE_S,
    WATCHED_S,
    Stretch,
    at_first,
    before_link,
    limit_link,
    peak_links,
    sag_links,
    shares_phrase,
    step_links,
    stretch,
    worst_shares,
)
from desktop.diagnosis.causes.book import CauseEvidence
from desktop.diagnosis.causes.chain import Chain, Link, ordered
from desktop.diagnosis.causes.seen import Seen
from desktop.diagnosis.finding import Finding
from desktop.diagnosis.plant import Plant
from desktop.words import Phrase

_OVER = 1.02
_BELONGS_NS = 5_000_000_000
_ONSET_S = 100.0


def overload_chain(evidence: CauseEvidence, finding: Finding, window: Seen) -> Chain:
    """Of a finding that says that limit or rating was exceeded."""
    last = int(window.time[-1])
    end = last if finding.end is None else min(finding.end, last)
    stop = next((halt for halt in evidence.halts if _belongs(halt, finding.start, end)), None)
    if stop is not None:
        end = min(end, stop.loaded)
    part = stretch(evidence, window, finding.start, end)
    links = _links(evidence, part)
    if stop is not None:
        links.append(stop_link(stop))
    elif finding.end is not None and finding.end <= last:
        links.append(_back(finding))
    cause, certain = asked_too_much(evidence, part, by_limit=finding.kind == "input_over_limit")
    return Chain(finding.kind, finding.start, ordered(links), cause, certain, lacking(evidence, part))


def overload_stop_chain(evidence: CauseEvidence, finding: Finding, window: Seen, halt: Halt) -> Chain:
    """Of a stop that an overload brought about."""
    part = stretch(evidence, window, _onset(evidence, window, halt), halt.loaded)
    links = [*_links(evidence, part), stop_link(halt)]
    cause, certain = asked_too_much(evidence, part, by_limit=False)
    return Chain(finding.kind, finding.start, ordered(links), cause, certain, lacking(evidence, part))


def _links(evidence: CauseEvidence, part: Stretch) -> list[Link]:
    return [
        *limit_link(part),
        *before_link(part, evidence.plant),
        *step_links(evidence, part),
        *peak_links(part, evidence.plant),
        *sag_links(part, evidence.plant),
    ]


def _belongs(halt: Halt, start: int, end: int) -> bool:
    return halt.dropped and start <= halt.stopped and halt.loaded <= end + _BELONGS_NS


def _onset(evidence: CauseEvidence, window: Seen, halt: Halt) -> int:
    """Since when the load lay above the rating without coming back for long, up to the stop."""
    plant = evidence.plant
    near = round(max(20.0, 1.5 * plant.interval_s) * 1e9)
    rows = window.between(halt.loaded - round(_ONSET_S * 1e9), halt.loaded)
    over = rows.time[(rows["generator"] > plant.rated_w) | (rows["amperes"] > plant.leg_a)]
    onset = halt.loaded
    for time in over[::-1].tolist():
        if onset - time > near:
            break
        onset = time
    return onset


def stop_link(halt: Halt) -> Link:
    """The end of carrying load."""
    if halt.evidence.stood:
        text = Phrase("It stopped under {load:W} of load.", load=halt.evidence.before_w)
    else:
        text = Phrase("Its load of {load:W} was gone at once, while the engine ran on.", load=halt.before_w)
    return Link(halt.stopped, "stopped", halt.before_w, "W", text)


def _back(finding: Finding) -> Link:
    assert finding.end is not None
    lasted = (finding.end - finding.start) / 1e9
    return Link(
        finding.end,
        "back_in_limits",
        lasted,
        "s",
        Phrase("It was back within limits {lasted:time} after it began.", lasted=lasted),
    )


def asked_too_much(evidence: CauseEvidence, part: Stretch, *, by_limit: bool) -> tuple[Phrase, bool]:
    """The cause in a sentence, and whether it is certain."""
    most = part.limit_w if by_limit else part.rated_w
    if not evidence.load_known:
        return _without_load(part, by_limit=by_limit)
    if part.load_w > _OVER * most:
        return (
            Phrase(
                "The house alone took {load:W}, more than the {most:W} that {what}.",
                load=part.load_w,
                most=most,
                what=Phrase("the limit lets through") if by_limit else Phrase("the generator can carry here"),
            ),
            True,
        )
    if not by_limit and part.limit_w > _OVER * part.rated_w:
        return _limit_too_high(evidence, part), True
    if part.steps:
        return _step_and_charger(evidence, part), True
    charger = part.rows.highest("converter_ac")
    if evidence.plant.interval_s > COARSE_S:
        return Phrase(
            "Can't tell what came first: the readings lie {step:time} apart.", step=evidence.plant.interval_s
        ), False
    if charger > 0 and not math.isnan(most):
        return (
            Phrase(
                "No load step came: the charger took {charger:W} where the house left {left:W}.",
                charger=charger,
                left=max(0.0, most - part.rows.middle("load")),
            ),
            True,
        )
    return Phrase("Can't tell: no load step shows, and what the charger took isn't recorded."), False


def _without_load(part: Stretch, *, by_limit: bool) -> tuple[Phrase, bool]:
    if not by_limit and part.limit_w > _OVER * part.rated_w:
        return (
            Phrase(
                "The input limit of {limit:A} lets {through:W} through, more than the {rated:W} that the generator "
                "can "
                "carry here. What asked for it can't be told: the house load isn't recorded.",
                limit=part.limit_a,
                through=part.limit_w,
                rated=part.rated_w,
            ),
            True,
        )
    most = part.rows.highest("generator")
    if by_limit or not most > part.rated_w:
        return Phrase("Can't tell what asked for so much: the house load isn't recorded."), False
    return (
        Phrase(
            "It was overloaded: it carried up to {most:W} and can carry {rated:W} here. What asked for it can't be "
            "told: the house load isn't recorded.",
            most=most,
            rated=part.rated_w,
        ),
        True,
    )


def _limit_too_high(evidence: CauseEvidence, part: Stretch) -> Phrase:
    sets_off = Phrase("")
    if part.steps:
        size = sum(one.step.size_w for one in part.steps)
        shares = worst_shares(part)
        if shares is not None:
            sets_off = Phrase(
                " {size:W} that was switched on in the house overloaded it. It then carried {shares}.",
                size=size,
                shares=shares_phrase(shares),
            )
        elif (charger := part.before.middle("converter_ac")) > 0:
            sets_off = Phrase(
                " {size:W} that was switched on in the house, while the charger took {charger:W}, overloaded it.",
                size=size,
                charger=charger,
            )
        else:
            sets_off = Phrase(" {size:W} that was switched on in the house overloaded it.", size=size)
    return Phrase(
        "The input limit is set too high: its {limit:A} let {through:W} through, and the generator can "
        "carry {rated:W} "
        "here.{sets_off}",
        limit=part.limit_a,
        through=part.limit_w,
        rated=part.rated_w,
        sets_off=sets_off,
    )


def _step_and_charger(evidence: CauseEvidence, part: Stretch) -> Phrase:
    one = max(part.steps, key=lambda each: each.step.size_w)
    size, back = Phrase("{size:W}{peak}", size=one.step.size_w, peak=at_first(one)), one.back_off
    if back is None:
        return Phrase("Something of {size} was switched on in the house.", size=size)
    if evidence.plant.interval_s > COARSE_S or not (back.began or back.watched_s >= WATCHED_S):
        return Phrase(
            "Something of {size} was switched on while the charger took {charger:W}.",
            size=size,
            charger=back.charger_w,
        )
    if not back.began:
        return Phrase(
            "Something of {size} was switched on while the charger took {charger:W}, and in {watched:time} the "
            "charger did not give way.",
            size=size,
            charger=back.charger_w,
            watched=back.watched_s,
        )
    if back.settled_s < max(1.5 * evidence.plant.interval_s, 1.5):
        return Phrase(
            "Something of {size} was switched on while the charger took {charger:W}; the charger gave way at "
            "once.",
            size=size,
            charger=back.charger_w,
        )
    return Phrase(
        "Something of {size} was switched on while the charger took {charger:W}; the charger began to give way "
        "only {began:time} later and was done after {settled:time}.",
        size=size,
        charger=back.charger_w,
        began=back.began_s,
        settled=back.settled_s,
    )


def lacking(evidence: CauseEvidence, part: Stretch) -> tuple[Phrase, ...]:
    """What the recording can't tell of an overload."""
    plant: Plant = evidence.plant
    told = []
    if not evidence.load_known:
        told.append(Phrase("The house load isn't recorded: what was switched on can't be told."))
    if not evidence.charger_known:
        told.append(Phrase("What the charger takes isn't recorded: when it gave way can't be told."))
    if plant.interval_s > COARSE_S:
        told.append(
            Phrase(
                "The readings lie {step:time} apart: what happened within that time, and in which order, can't "
                "be told.",
                step=plant.interval_s,
            )
        )
    if math.isnan(part.rated_w):
        told.append(Phrase("The site sheet gives no rating of the generator to hold this against."))
    if math.isnan(part.limit_a):
        told.append(Phrase("Neither recording nor site sheet gives the input limit."))
    return tuple(told)
