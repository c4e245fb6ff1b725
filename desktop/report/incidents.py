"""Findings that one thing brought about, told together: what it was, and what came of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from desktop.diagnosis.causes.chain import Chain
from desktop.diagnosis.finding import SEVERITIES, Finding, Severity
from desktop.review.corrected import Figures
from desktop.review.verdict import leading

_ROOT = "limit_above_rating"
_FROM_LIMIT = frozenset({"input_over_limit", "generator_over_rating", "generator_stopped_under_load"})


@dataclass(frozen=True, slots=True)
class Incident:
    """One thing that happened.

    findings  in order of time; those that are told in full
    beside    others that say no more than its cause does, or that it alone brought about
    chain     what led to it; None where nothing did that is known
    """

    findings: tuple[Finding, ...]
    beside: tuple[Finding, ...] = ()
    chain: Chain | None = None

    @property
    def first(self) -> Finding:
        """The finding that it began with."""
        return self.findings[0]

    @property
    def kind(self) -> tuple[str, ...]:
        """What it was, to find others like it."""
        return tuple(one.kind for one in self.findings)

    @property
    def severity(self) -> Severity:
        """Of the worst finding."""
        return min((one.severity for one in self.findings), key=SEVERITIES.index)

    @property
    def pressing(self) -> bool:
        """True where it is more than a note."""
        return self.severity != SEVERITIES[-1]

    @property
    def title(self) -> str:
        """What it was, in a few words."""
        return " → ".join(dict.fromkeys(str(one.title) for one in self.findings))

    @property
    def main(self) -> Finding:
        """The finding that it comes to."""
        return leading(self.findings) or self.first

    @property
    def end(self) -> int | None:
        """When its last finding ended, UTC nanoseconds; None while one stands."""
        ends = [one.end for one in self.findings]
        return None if None in ends else max(end for end in ends if end is not None)


def incidents_of(figures: Figures) -> tuple[Incident, ...]:
    """All findings as incidents, in order of time."""
    chains = {(one.finding, one.start): one for one in figures.review.chains}
    groups: list[list[Finding]] = []
    for finding in figures.findings:
        same = next((group for group in groups if _brought_about(group, finding, chains)), None)
        if same is None:
            groups.append([finding])
        else:
            same.append(finding)
    made = [
        Incident(
            tuple(group),
            figures.gone if group[0].kind == "meter_suspect" else (),
            next((chain for one in group if (chain := chains.get((one.kind, one.start)))), None),
        )
        for group in groups
    ]
    return tuple(_rooted(made))


def _brought_about(group: Sequence[Finding], finding: Finding, chains: dict[tuple[str, int], Chain]) -> bool:
    """True where the same events led to a finding as to those of a group."""
    mine = chains.get((finding.kind, finding.start))
    before = chains.get((group[0].kind, group[0].start))
    if mine is None or before is None or not mine.links or str(finding.cause) != str(group[0].cause):
        return False
    return mine.links == before.links


def _rooted(incidents: Sequence[Incident]) -> list[Incident]:
    """A limit that is set too high is told within what came of it, where something did."""
    left: list[Incident] = list(incidents)
    for root in (one for one in incidents if one.first.kind == _ROOT):
        came = next((one for one in left if _from_limit(one, root.first)), None)
        if came is not None:
            left.remove(root)
            left[left.index(came)] = replace(came, beside=(*came.beside, *root.findings))
    return left


def _from_limit(incident: Incident, limit: Finding) -> bool:
    return incident.first.kind in _FROM_LIMIT and limit.stands_at(incident.first.start)
