"""Findings that came, went or stayed."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Literal

from desktop.comparison.side import Side
from desktop.diagnosis.finding import SEVERITIES, SEVERITY_OF, Finding
from desktop.words import Phrase

Course = Literal["came", "went", "stayed"]

_AROUND_NS = 120_000_000_000
"""What stands this long before or after a session belongs to it: a stop under load is told at its very end."""


@dataclass(frozen=True, slots=True)
class FindingChange:
    """One kind of finding, and how often each side has it."""

    kind: str
    title: Phrase
    a: int
    b: int

    @property
    def course(self) -> Course:
        """What became of it."""
        return "came" if not self.a else "went" if not self.b else "stayed"


def finding_changes(a: Side, b: Side) -> tuple[FindingChange, ...]:
    """Every kind that either side has, the most urgent first."""
    found = [_of(side) for side in (a, b)]
    counts = [Counter(one.kind for one in each) for each in found]
    titles = {one.kind: one.title for each in found for one in each}
    order = list(SEVERITY_OF)
    kinds = sorted(titles, key=lambda kind: (SEVERITIES.index(SEVERITY_OF[kind]), order.index(kind)))
    return tuple(FindingChange(kind, titles[kind], counts[0][kind], counts[1][kind]) for kind in kinds)


def _of(side: Side) -> list[Finding]:
    if side.session is None:
        return list(side.review.findings)
    (session,) = side.sessions
    first, last = session.start - _AROUND_NS, session.end + _AROUND_NS
    return [
        one for one in side.review.findings if one.start <= last and (one.end is None or one.end >= first)
    ]
