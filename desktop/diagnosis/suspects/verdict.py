"""The verdict: whether any meter is suspected, which, and what can't be told apart from it."""

from __future__ import annotations

import numpy as np

from desktop.diagnosis.suspects.book import Snapshot
from desktop.diagnosis.suspects.case import Case
from desktop.diagnosis.suspects.judging import Outcome, healthy, judged
from desktop.diagnosis.suspects.lags import lag_of
from desktop.diagnosis.suspects.legs import one_leg
from desktop.diagnosis.suspects.robust import losses
from desktop.diagnosis.suspects.suspect import Suspect
from desktop.diagnosis.suspects.telling import told, told_late
from desktop.diagnosis.suspects.trials import trials_of
from desktop.flow.learned import Learned
from desktop.site import Site

BEYOND_HEALTHY = 12.0
"""By so much a fault must explain readings better than healthy meters: odds of one to e¹²."""

APART = 6.0
"""Faults that explain them better by less than this can't be told apart."""

MOST_PER_CELL = 2.5
"""So many cells at least must speak for a fault: a fifth of what they must speak for in all."""

UNMETERED = ("unmetered_load", "unmetered_source")
HIDDEN = frozenset({*UNMETERED, "one_leg", "stuck"})
APART_HIDDEN, APART_HIDDEN_SHARE = 25.0, 0.3
"""The same for what a meter doesn't see and what has no meter; and as a share of what they explain."""

APART_KIND = 15.0
"""The same for scale and offset of one meter, which are one where it hardly moves."""

APART_CONTRARY = 60.0
"""The same for something that is used and something that feeds in."""

SURELY_EXPLAINED = 0.85
"""A reading that comes late leaves more than this of what another fault seems to explain."""

LEAST_EXPLAINED, LEAST_EXPLAINED_UNMETERED, LEAST_W = 0.5, 0.75, 40.0
"""Share of the imbalance, and W, that a fault must explain; more where it may be anything at any time."""


def find_suspects(snapshot: Snapshot, learned: Learned, site: Site) -> tuple[Suspect, ...]:
    """The suspect, with its rivals; none where healthy meters explain the readings, or no single fault does."""
    case = Case.of(snapshot, learned, site)
    if case is None:
        return ()
    without = healthy(case)
    late = lag_of(snapshot, learned.network)
    if late is None and without.cost < BEYOND_HEALTHY:
        return ()
    found = verdict(case, without, tried(case, without))
    if late is not None and not any(each.explains >= SURELY_EXPLAINED for each in found):
        return (told_late(case, late),)
    return found


def tried(case: Case, without: Outcome) -> list[Outcome]:
    """Every fault that can be tried, the best first."""
    trials = list(trials_of(case))
    outcomes = [judged(case, trial, without) for trial in trials if trial.free != "leg"]
    for trial in trials:
        if trial.free == "leg":
            scaled = next(
                each for each in outcomes if each.trial.free == "gain" and each.trial.meters == trial.meters
            )
            outcomes.append(one_leg(case, trial, scaled))
    return sorted((each for each in outcomes if np.isfinite(each.cost)), key=lambda each: each.rank)


def verdict(case: Case, without: Outcome, outcomes: list[Outcome]) -> tuple[Suspect, ...]:
    """From what each hypothesis costs."""
    if not outcomes or without.cost - min(each.cost for each in outcomes) < BEYOND_HEALTHY:
        return ()
    best = outcomes[0]
    if _breadth(case, without, best) < BEYOND_HEALTHY:
        return ()
    least = LEAST_EXPLAINED_UNMETERED if best.trial.fault in UNMETERED else LEAST_EXPLAINED
    if explained(without, best) < least:
        return ()
    best, *others = _grouped(
        [each for each in outcomes if each.rank - best.rank < _apart(best, each, without.cost)]
    )
    if _slight(best) or any(_contrary(best, each) for each in others):
        return ()
    rivals = tuple(told(case, each, explained(without, each), ()) for each in others)
    return (told(case, best, explained(without, best), rivals),)


def _slight(outcome: Outcome) -> bool:
    """True for so little that nobody should go and look."""
    return outcome.trial.fault in ("offset", *UNMETERED) and abs(outcome.parameter) < LEAST_W


def _contrary(one: Outcome, other: Outcome) -> bool:
    """True where a load explains readings about as well as a source at the same place: so does neither."""
    return {one.trial.fault, other.trial.fault} == set(UNMETERED) and one.trial.bus == other.trial.bus


def _grouped(near: list[Outcome]) -> list[Outcome]:
    """One outcome for each fault of each meter: the simplest of those that can't be told apart."""
    group: list[Outcome] = []
    for each in near:
        place = next((row for row, other in enumerate(group) if _same(each, other)), None)
        if place is None:
            group.append(each)
        elif each.trial.penalty < group[place].trial.penalty and each.rank - group[place].rank < APART:
            group[place] = each
    return group


def _breadth(case: Case, without: Outcome, best: Outcome) -> float:
    """By how much it explains readings better, no cell counting for more than a few: one event proves nothing.

    How far gains had to be stretched counts in full: no single cell stretches them.
    """
    costs, rest = [], []
    for each in (without, best):
        rows = each.system.weight * losses(each.left / each.system.sigma)
        costs.append(np.bincount(each.system.cell, rows, case.readings.shape[1]))
        rest.append(each.cost - float(rows.sum()))
    return float(np.minimum(costs[0] - costs[1], MOST_PER_CELL).sum()) + max(0.0, rest[0] - rest[1])


def explained(without: Outcome, outcome: Outcome) -> float:
    """The share of the imbalance that is gone."""
    before = float(without.system.weight @ np.abs(without.system.y))
    after = float(outcome.system.weight @ np.abs(outcome.left))
    return float(np.clip(1 - after / before, 0.0, 1.0)) if before > 0 else 0.0


def _apart(best: Outcome, other: Outcome, healthy_cost: float) -> float:
    """By how much they must differ. What a meter doesn't see is something unmetered, by another name."""
    if _contrary(best, other):
        return APART_CONTRARY
    hidden = best.trial.fault in HIDDEN and other.trial.fault in HIDDEN
    legs = {best.trial.fault, other.trial.fault} == {"scale", "one_leg"}
    if hidden or (legs and best.trial.channel == other.trial.channel):
        return max(APART_HIDDEN, APART_HIDDEN_SHARE * (healthy_cost - best.cost))
    kinds = {best.trial.fault, other.trial.fault} == {"scale", "offset"}
    return APART_KIND if kinds and best.trial.channel == other.trial.channel else APART


def _same(one: Outcome, other: Outcome) -> bool:
    """The same fault said twice: as a usual factor and a fitted one, or as something that is constant or not."""
    a, b = one.trial, other.trial
    if a.channel == b.channel and a.fault == b.fault:
        return True
    return a.channel == b.channel and {a.fault, b.fault} <= {"reversed", "scale"}
