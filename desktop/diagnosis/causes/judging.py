"""The chain of each finding that has one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from desktop.charging.sessions import Session
from desktop.diagnosis.causes.book import CauseEvidence
from desktop.diagnosis.causes.chain import Chain
from desktop.diagnosis.causes.charging import CHAINS
from desktop.diagnosis.causes.low_battery import low_chain
from desktop.diagnosis.causes.overload import overload_chain
from desktop.diagnosis.causes.stopping import stop_chain
from desktop.diagnosis.finding import Finding
from desktop.flow.minutes import Minutes
from desktop.words import Phrase


def chain_of(
    finding: Finding, evidence: CauseEvidence, minutes: Minutes, sessions: Sequence[Session]
) -> Chain | None:
    """Why a finding came about; None for those that call for no action now, but for a low battery."""
    if finding.kind == "battery_low":
        return low_chain(finding, minutes, sessions)
    if finding.severity != "act now":
        return None
    window = evidence.around(finding.start)
    chain: Chain | None = None
    if window is not None:
        if finding.kind in ("input_over_limit", "generator_over_rating"):
            chain = overload_chain(evidence, finding, window)
        elif finding.kind == "generator_stopped_under_load":
            chain = stop_chain(evidence, finding, window)
        else:
            chain = CHAINS[finding.kind](evidence, finding, window)
    if chain is not None:
        return chain
    cause = finding.cause or Phrase("Can't tell: the rows around it are no longer kept.")
    return Chain(finding.kind, finding.start, (), cause, bool(finding.cause))


def chains_of(
    findings: Iterable[Finding], evidence: CauseEvidence, minutes: Minutes, sessions: Sequence[Session]
) -> tuple[Chain, ...]:
    """The chains of all findings that have one, in their order."""
    chains = (chain_of(finding, evidence, minutes, sessions) for finding in findings)
    return tuple(chain for chain in chains if chain is not None)


def with_causes(findings: Iterable[Finding], chains: Iterable[Chain]) -> tuple[Finding, ...]:
    """The findings, each with the cause that its chain names."""
    causes = {(chain.finding, chain.start): chain.cause for chain in chains}
    return tuple(
        replace(finding, cause=causes.get((finding.kind, finding.start), finding.cause))
        for finding in findings
    )
