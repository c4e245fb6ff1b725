"""Judgements of a review: each looks at the books as they stand, and gives the work that is left to do.

That work reads nothing that goes on changing, so it may be done beside the thread in which the review grows.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from desktop.charging.advice.advice import LimitAdvice, advise
from desktop.charging.advice.charger import BackOff
from desktop.charging.advice.evidence import shown_by
from desktop.charging.battery.facts import NOT_KNOWN, BatteryFacts
from desktop.charging.battery.judgement import judge_battery
from desktop.charging.forecast.forecast import Forecast
from desktop.charging.forecast.quarters import quarterly
from desktop.charging.fuel.state import Fuel, fuel_of
from desktop.diagnosis.causes.chain import Chain
from desktop.diagnosis.causes.judging import chains_of
from desktop.diagnosis.finding import Finding
from desktop.diagnosis.findings import in_order
from desktop.diagnosis.suspects import Suspect, find_suspects, suspect_findings
from desktop.review.advised import limit_set
from desktop.site import Site
from desktop.words import Phrase

if TYPE_CHECKING:
    from desktop.review.builder import Builder
    from desktop.review.reviewing import Review

NOTHING_OF_BATTERY = BatteryFacts(
    charge_in_ah=math.nan,
    charge_out_ah=math.nan,
    energy_in_wh=math.nan,
    energy_out_wh=math.nan,
    capacity_wh=NOT_KNOWN,
    fill_wh=NOT_KNOWN,
    capacity_ah=NOT_KNOWN,
    coulombic=NOT_KNOWN,
    energy_efficiency=NOT_KNOWN,
    resistance=None,
    half_cycles=0,
    lack="",
    cells=0,
    gain_sd=math.nan,
    own_soc=None,
)

NO_ADVICE = LimitAdvice(None, Phrase("The input limit is being looked into."))


def battery_judgement(review: Review, builder: Builder) -> Callable[[], BatteryFacts]:
    """What the battery is like."""
    snapshot, learned, site = builder.battery.snapshot(), review.learned, review.site
    return lambda: judge_battery(snapshot, learned, site)


def found_by(builder: Builder, suspects: Sequence[Suspect]) -> tuple[Finding, ...]:
    """All findings in order of time; at the same time the most urgent first."""
    return in_order([*builder.diagnosis.findings(), *suspect_findings(suspects)])


def chains_judgement(findings: Sequence[Finding], builder: Builder) -> Callable[[], tuple[Chain, ...]]:
    """What led to each finding of which it can be told."""
    evidence, minutes, sessions = (
        builder.causes.evidence(),
        builder.minutes.copy(),
        builder.sessions.sessions(),
    )
    return lambda: chains_of(findings, evidence, minutes, sessions)


def suspects_judgement(review: Review, builder: Builder) -> Callable[[], tuple[Suspect, ...]]:
    """Which meters lie."""
    snapshot, learned, site = builder.suspects.snapshot(), review.learned, review.site
    return lambda: find_suspects(snapshot, learned, site)


def fuel_judgement(review: Review) -> Callable[[], Fuel]:
    """What the sessions burnt."""
    minutes, sessions, learned, site = review.minutes.copy(), review.sessions, review.learned, review.site
    return lambda: fuel_of(minutes, sessions, learned, site)


def quarters_judgement(review: Review) -> Callable[[], Sequence[Sequence[Forecast | None]]]:
    """What would have been forecast at each quarter of each session."""
    minutes, sessions, learned, site = review.minutes.copy(), review.sessions, review.learned, review.site
    return lambda: quarterly(minutes, sessions, learned, site)


def advice_judgement(review: Review, builder: Builder) -> Callable[[], LimitAdvice]:
    """What the AC input limit should be."""
    recording = review.recording.rows(0, len(review))
    load, generator = review.stream("load"), review.stream("generator")
    learned, site = review.learned, review.site
    trips = tuple(halt.stopped for halt in builder.sessions.halts if halt.reason == "overload")
    need_wh = missing_wh(site)
    _, settled_s, seen = builder.causes.evidence().back_off_s()
    set_a = limit_set(review)

    def work() -> LimitAdvice:
        shown = shown_by(recording, load, generator, learned, site, trips, need_wh)
        if shown.back_off.assumed and seen:
            shown = replace(shown, back_off=BackOff(settled_s, assumed=False))
        return advise(replace(shown, set_a=math.nan if set_a is None else set_a), learned, site)

    return work


def missing_wh(site: Site) -> float:
    """What a run is to bring into the battery: from its reserve to its target, Wh; NaN where not known."""
    battery = site.battery
    if battery.capacity_kwh is None:
        return math.nan
    return max(0.0, battery.target_soc - battery.reserve_soc) / 100 * battery.capacity_kwh * 1000
