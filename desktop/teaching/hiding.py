"""What may be seen of a moment while a question about what comes next is open."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import tzinfo

from desktop.charging.sessions import Session
from desktop.diagnosis.finding import Finding
from desktop.review.moment import Moment
from desktop.review.sentence import sentence

_SECOND = 1e9


def told_by(findings: Sequence[Finding], instant: int | None) -> tuple[Finding, ...]:
    """The findings that were over by an instant (UTC nanoseconds); all of them where it is None.

    One that still stands tells how high and how long it will have been, and what to do about it.
    """
    if instant is None:
        return tuple(findings)
    return tuple(each for each in findings if each.end is not None and each.end <= instant)


def begun_by(sessions: Sequence[Session], instant: int | None) -> tuple[Session, ...]:
    """The charge sessions that had begun by an instant (UTC nanoseconds); all of them where it is None."""
    return tuple(each for each in sessions if instant is None or each.start <= instant)


def unjudged(moment: Moment, sessions: Sequence[Session], zone: tzinfo) -> Moment:
    """The moment with its powers alone: no finding that stands, and no word of it in the sentence."""
    if moment.stale or moment.row < 0:
        return replace(moment, findings=(), severity=None)
    ended = max((each.end for each in sessions if each.end < moment.time), default=None)
    relieved = math.inf if ended is None else (moment.time - ended) / _SECOND
    bare = replace(moment, findings=(), severity=None)
    headline, detail = sentence(bare, moment.time, zone, relieved)
    return replace(bare, headline=headline, detail=detail)
