"""A lull: readings have stopped coming, and what was read last must not pass for what is. Qt-free."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import tzinfo

from desktop.review.moment import Moment
from desktop.review.sentence import joined
from desktop.words import Phrase


@dataclass(frozen=True, slots=True)
class Lull:
    """Since when no reading has come (UTC nanoseconds), and why, as far as the source tells."""

    since: int
    reason: str = ""


def as_of_then(moment: Moment, lull: Lull, zone: tzinfo) -> Moment:
    """The last moment as one that is over: it is told when it was read, and nothing is claimed of now."""
    return replace(
        moment,
        stale=True,
        limits=tuple(replace(limit, value=math.nan, state="not known") for limit in moment.limits),
        severity="attend",
        headline=Phrase("Readings have stopped coming: what flows now is not known."),
        detail=joined(
            Phrase("What is shown was read at {time:clock}.", zone, time=lull.since),
            Phrase("Why: {reason}.", reason=lull.reason) if lull.reason else Phrase(""),
        ),
    )
