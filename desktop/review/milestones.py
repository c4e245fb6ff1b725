"""The row counts at which a review learns anew, so that a growing recording is learned from seldom enough."""

from __future__ import annotations

import math

_EVERY_ROW_UP_TO = 64
_GROWTH = 1.125


def milestone(rows: int) -> int:
    """How many of the first rows a review of `rows` rows learns from.

    All of them up to 64, then the largest member ≤ `rows` of the sequence that starts at 64 and grows by an
    eighth, rounded up.
    """
    if rows <= _EVERY_ROW_UP_TO:
        return rows
    member = _EVERY_ROW_UP_TO
    while (following := math.ceil(member * _GROWTH)) <= rows:
        member = following
    return member
