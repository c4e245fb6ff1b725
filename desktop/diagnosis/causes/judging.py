"""The chain of each urgent finding."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from desktop.diagnosis.causes.book import CauseEvidence
from desktop.diagnosis.causes.chain import Chain
from desktop.diagnosis.causes.charging import CHAINS
from desktop.diagnosis.causes.overload import overload_chain
from desktop.diagnosis.causes.stopping import stop_chain
from desktop.diagnosis.finding import Finding
from desktop.words import Phrase


def chain_of(finding: Finding, evidence: CauseEvidence) -> Chain | None:
    """Why a finding came about; None for those that call for no action now."""
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


def chains_of(findings: Iterable[Finding], evidence: CauseEvidence) -> tuple[Chain, ...]:
    """The chains of all urgent findings, in their order."""
    chains = (chain_of(finding, evidence) for finding in findings)
    return tuple(chain for chain in chains if chain is not None)


def with_causes(findings: Iterable[Finding], chains: Iterable[Chain]) -> tuple[Finding, ...]:
    """The findings, each urgent one with the cause that its chain names."""
    causes = {(chain.finding, chain.start): chain.cause for chain in chains}
    return tuple(
        replace(finding, cause=causes.get((finding.kind, finding.start), finding.cause))
        for finding in findings
    )
