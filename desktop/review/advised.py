"""The AC input limit that is set, and findings about it with the one that is advised: one number everywhere."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from desktop.charging.advice.advice import LimitAdvice
from desktop.charging.advice.against import against
from desktop.charging.currents import each_leg
from desktop.diagnosis.finding import Finding
from desktop.words import Phrase

if TYPE_CHECKING:
    from desktop.review.reviewing import Review

SLOT = "advised"
"""The value of an advice's phrase in which a lower limit can be named."""


def limit_set(review: Review) -> float | None:
    """The AC input limit that is set, A: as last reported, else by the sheet; None where nothing tells."""
    if "input_limit" in review.recording:
        reported = review.recording.column("input_limit")
        known = np.flatnonzero(np.isfinite(reported))
        if known.size:
            return float(reported[known[-1]])
    return review.site.input.limit_a


def with_limit(
    findings: Sequence[Finding], advice: Callable[[], LimitAdvice], set_a: Callable[[], float | None]
) -> tuple[Finding, ...]:
    """The findings; those that call for a lower limit name the one that is advised where that is lower, or say that
    the one that is set has stood the replay.

    advice, set_a  the advice, and the limit that is set now, A; they are asked for only where a finding needs them
    """
    if not any(SLOT in finding.advice.values for finding in findings):
        return tuple(findings)
    found = advice()
    told = against(found, set_a())
    if told is None:
        return tuple(findings)
    if told.lower_to is not None:
        named = Phrase(", to {limit}", limit=each_leg(told.lower_to, found.legs))
    elif told.stands_well and not told.nearest.trips:
        limit = each_leg(told.set_a, found.legs)
        named = Phrase(" (at {limit} no step of those recorded would have tripped it)", limit=limit)
    else:
        return tuple(findings)
    return tuple(_naming(finding, named) for finding in findings)


def _naming(finding: Finding, named: Phrase) -> Finding:
    told = finding.advice
    if SLOT not in told.values:
        return finding
    return replace(finding, advice=Phrase(told.template, told.zone, **{**told.values, SLOT: named}))
