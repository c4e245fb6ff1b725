"""What may be seen of a moment while a lesson still has something to ask."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import tzinfo
from typing import TypeVar

from desktop.charging.sessions import Session
from desktop.review.moment import Moment
from desktop.review.sentence import sentence

_SECOND = 1e9

Found = TypeVar("Found")


def judged(found: Sequence[Found], hidden: int | None) -> Sequence[Found]:
    """What was found, or its marks and bands: all of it, and nothing while anything is hidden.

    Even a finding that was over long ago names its cause, which may be just what is asked next.

    hidden  the instant after which nothing is shown (UTC nanoseconds); None: everything is
    """
    return found if hidden is None else ()


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
