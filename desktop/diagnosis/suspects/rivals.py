"""Which faults can't be told apart from the one that explains readings best."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.case import System
from desktop.diagnosis.suspects.judging import Outcome
from desktop.diagnosis.suspects.runs import CERTAIN, HANGING
from desktop.diagnosis.suspects.trials import Trial

Floats = NDArray[np.float64]

APART = 6.0
"""Faults that explain them better by less than this can't be told apart."""

STANDS = 9.0
"""From these odds on (logarithm) a meter stands for no other reason than that it hangs, and not another."""

UNMETERED = ("unmetered_load", "unmetered_source")
HIDDEN = frozenset({*UNMETERED, "one_leg", "stuck"})
"""Faults that may be of any course in time."""

_ONE_NAME = ({"reversed", "scale"}, {"scale", "one_leg"})
APART_HIDDEN, APART_HIDDEN_SHARE, UNSEEN_SHARE = 25.0, 0.15, 0.6
"""The same for a meter that stands and what has no meter; and as a share of what they explain. And for legs that a
meter doesn't see, which are something unmetered by another name."""

APART_KIND = 15.0
"""The same for scale and offset of one meter, which are one where it hardly moves."""

LEAST_TURNED, MOST_TURNED = -(2**0.5), -(0.5**0.5)
"""Between these, nearer to minus one than to twice or half as much, a factor says that a meter is wired the wrong
way round and, which would be a second fault, somewhat off besides."""

ALIKE = 0.15
"""Factors that differ by no more than this, as a share, are one, told in coarse steps."""

APART_CONTRARY, CONTRARY_SHARE = 60.0, 0.5
"""The same for something that is used and something that feeds in, where each explains a good part."""

MOST_LEFT_MORE = 0.25
"""What leaves a greater share of the imbalance than another fault, by this much, is no rival to it."""

APART_STEADY_SHARE = 0.05
"""The same for an offset beside what is unmetered and may be of any course: what hardly changes may be either."""

APART_FACING_SHARE = 0.1
"""The same for two meters that are held against nothing but each other, as a share of what they explain."""

FACTORS = frozenset({"scale", "one_leg"})
APART_LEG_SHARE = 0.05
"""By so much, as a share of what it explains, one leg must do better than a factor: legs aren't loaded in
proportion."""


def grouped(best: Outcome, outcomes: list[Outcome], without: Outcome) -> list[Outcome]:
    """The best one, or the same said more simply, and its rivals.

    without  the healthy outcome
    """
    healthy_cost = without.cost
    best = _standing(best, outcomes, without)
    near = [each for each in outcomes if _near(best, each, healthy_cost)]
    best, *others = _by_name(near, healthy_cost)
    # What is said more simply is held against less: a factor isn't one leg, which may be nearly anything.
    others = [each for each in others if _near(best, each, healthy_cost)]
    return [best, *(each for each in others if _weighty(each, best, without))]


def _near(best: Outcome, other: Outcome, healthy_cost: float) -> bool:
    """True where two can't be told apart: by all there is, or by the balances while the other is only seen to hang
    more or less.
    """
    if other is not best and healthy_cost - min(other.cost, other.rank) < APART:
        return False
    if best.stands - other.stands >= STANDS and other.trial.fault in (*UNMETERED, "stuck"):
        return False
    if other.rank - best.rank < _apart(best, other, healthy_cost):
        return True
    if other.trial.runs is not None or healthy_cost - other.cost < APART:
        return False
    # What rests reads its offset for as long as it rests: that it stands there is no reason against that.
    surely = best.cost - best.rank >= HANGING and other.trial.channel != best.trial.channel
    return hangs(best) and not surely and other.cost < best.cost


def _standing(best: Outcome, outcomes: list[Outcome], without: Outcome) -> Outcome:
    """A meter that stands, where something unmetered explains as much: that doesn't explain why it stands."""
    if best.trial.fault not in UNMETERED:
        return best
    for each in outcomes:
        near = each.cost - best.cost < _apart(best, each, without.cost)
        if each.stands >= STANDS and near and _weighty(each, best, without):
            return each
    return best


def contrary(one: Outcome, other: Outcome) -> bool:
    """True where a load explains readings about as well as a source at the same place: so does neither."""
    return {one.trial.fault, other.trial.fault} == set(UNMETERED) and one.trial.bus == other.trial.bus


def _weighty(other: Outcome, best: Outcome, without: Outcome) -> bool:
    """True where the other explains about as much of the imbalance; what is contrary, of the readings as well."""
    if explained(without, best) - explained(without, other) > MOST_LEFT_MORE:
        return False
    good = without.cost - other.cost > CONTRARY_SHARE * (without.cost - best.cost)
    return good or not contrary(best, other)


def _by_name(near: list[Outcome], healthy_cost: float) -> list[Outcome]:
    """One outcome for each fault of each meter: the simplest of those that can't be told apart."""
    group: list[Outcome] = []
    for each in near:
        place = next((row for row, other in enumerate(group) if _same(each, other)), None)
        if place is None:
            group.append(each)
        elif _simpler(each, group[place], healthy_cost):
            group[place] = each
    return group


def _simpler(other: Outcome, best: Outcome, healthy_cost: float) -> bool:
    """True where a simpler way to say the same explains about as much."""
    one, two = best.trial, other.trial
    held = {one.fault, two.fault} <= FACTORS or two.fault == "reversed"
    near = _apart(best, other, healthy_cost) if held else APART
    return other.rank - best.rank < near and two.penalty < one.penalty


def explained(without: Outcome, outcome: Outcome) -> float:
    """The share of the imbalance that is gone, where the fault would show."""
    before = _imbalance(without, outcome.trial, without.system.y)
    after = _imbalance(outcome, outcome.trial, outcome.left)
    return float(np.clip(1 - after / before, 0.0, 1.0)) if before > 0 else 0.0


def _imbalance(outcome: Outcome, trial: Trial, left: Floats) -> float:
    """W, summed up over the balances that a fault concerns; over all else that is known where there are none."""
    system = outcome.system
    rows = list(trial.meters)
    concerned = [bool(each.weights[rows].any()) or trial.bus in each.buses for each in system.equations]
    balances = [on and bool(each.buses) for on, each in zip(concerned, system.equations, strict=True)]
    counted = np.array(balances if any(balances) else concerned, np.bool_)[system.equation]
    return float(system.weight[counted] @ np.abs(left[counted]))


def _apart(best: Outcome, other: Outcome, healthy_cost: float) -> float:
    """By how much they must differ."""
    one, two = best.trial, other.trial
    if contrary(best, other):
        return APART_CONTRARY
    if hangs(best):
        return APART
    gained = healthy_cost - best.cost
    if one.channel == two.channel and two.fault == "reversed" and LEAST_TURNED < best.parameter < MOST_TURNED:
        return APART_KIND
    if one.channel == two.channel and {one.fault, two.fault} == {"scale"}:
        return APART_KIND if abs(best.parameter / other.parameter - 1) < ALIKE else APART
    if one.channel == two.channel and {one.fault, two.fault} <= FACTORS:
        leg = max(APART_KIND, APART_LEG_SHARE * gained)
        return leg if one.fault == "one_leg" else APART_KIND
    if one.fault in UNMETERED and two.fault == "offset":
        return max(APART, APART_STEADY_SHARE * gained)
    if one.fault in HIDDEN and two.fault in HIDDEN:
        unseen = "one_leg" in (one.fault, two.fault)
        return max(APART_HIDDEN, (UNSEEN_SHARE if unseen else APART_HIDDEN_SHARE) * gained)
    if {one.fault, two.fault} == {"scale"} and _facing(best.system, one.meters[0], two.meters[0]):
        return max(APART_KIND, APART_FACING_SHARE * gained)
    # A usual factor has nothing that could be fitted: where it does better than an offset that has, it's no chance.
    kinds = {one.fault, two.fault} == {"scale", "offset"} and not (one.fault == "scale" and not one.free)
    return APART_KIND if kinds and one.channel == two.channel else APART


def hangs(outcome: Outcome) -> bool:
    """True where a meter is seen to stand: what else could be is no reason for that."""
    return outcome.trial.runs is not None and outcome.cost - outcome.rank >= CERTAIN


def _facing(system: System, one: int, other: int) -> bool:
    """True where two meters are held against nothing but each other: which of them is wrong can't be seen."""
    if one == other:
        return False
    told = [each.weights for each in system.equations if each.weights[one] or each.weights[other]]
    told = [weights for weights in told if np.count_nonzero(weights) > 1]
    return bool(told) and all(set(np.flatnonzero(weights)) == {one, other} for weights in told)


def _same(one: Outcome, other: Outcome) -> bool:
    """The same fault said twice: as a usual factor and a fitted one, or as something that is constant or not."""
    a, b = one.trial, other.trial
    if a.channel != b.channel:
        return False
    return a.fault == b.fault or {a.fault, b.fault} in _ONE_NAME
