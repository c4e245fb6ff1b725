"""The verdict: whether any meter is suspected, which, and what can't be told apart from it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from desktop.diagnosis.suspects.book import Snapshot
from desktop.diagnosis.suspects.case import Case
from desktop.diagnosis.suspects.judging import Outcome, freely, healthy, judged
from desktop.diagnosis.suspects.lags import lag_of
from desktop.diagnosis.suspects.lags_at_rest import lag_at_rest
from desktop.diagnosis.suspects.legs import one_leg
from desktop.diagnosis.suspects.rivals import HIDDEN, UNMETERED, contrary, explained, grouped, hangs
from desktop.diagnosis.suspects.robust import losses
from desktop.diagnosis.suspects.runs import HANGING, RESTING
from desktop.diagnosis.suspects.suspect import Suspect
from desktop.diagnosis.suspects.telling import told, told_late
from desktop.diagnosis.suspects.trials import trials_of
from desktop.flow.learned import Learned
from desktop.site import Site

BEYOND_HEALTHY = 12.0
"""By so much a fault must explain readings better than healthy meters: odds of one to e¹²."""

MOST_PER_CELL, BROADLY = 2.5, 9.0
"""No cell may speak louder than this for a fault; and so much they must say together."""

MOST_VAGUE, MOST_OFF, MOST_DOUBT = 0.1, 0.35, 0.5
"""Share to which a factor must be known to be named; how far it may be from a usual one, which is as far as half
way to the next; and the doubt about what flows, as a share of it, from which on it may as well be nothing."""

SURELY_EXPLAINED, EXPLAINED_BY_HANGING = 0.85, 0.8
"""A reading that comes late leaves more than the first of what another fault seems to explain; a meter that hangs
leaves less than the second of what it really explains."""

_NEAR_REST, _CLEARLY = 3.0, 2.0
_AT_ITS_BEST = 90.0

OF_GAINS = frozenset({"scale", "reversed", "swapped"})
"""Faults by which readings are off in proportion to readings."""

LEAST_EXPLAINED, LEAST_EXPLAINED_UNMETERED, LEAST_FOLLOWED, LEAST_W = 0.5, 0.75, 0.6, 40.0
"""Share of the imbalance, and W, that a fault must explain; more where it may be anything at any time, a little
less again where that is followed through what balances err by anyway."""


def find_suspects(snapshot: Snapshot, learned: Learned, site: Site) -> tuple[Suspect, ...]:
    """The suspect, with its rivals; none where healthy meters explain the readings, or no single fault does."""
    case = Case.of(snapshot, learned, site)
    if case is None:
        return ()
    without = healthy(case)
    late = lag_of(case) or lag_at_rest(case)
    quiet = late is None and without.cost < BEYOND_HEALTHY
    found = verdict(case, without, tried(case, without, standing=quiet))
    if late is not None and not any(_surely(each) for each in found):
        return (told_late(case, late),)
    return found


def _surely(found: Suspect) -> bool:
    """True for what explains too much for readings that just come late, and not because it may be anything.

    Wrong gains were held against the lag, step by step, before it was found.
    """
    return found.explains >= SURELY_EXPLAINED and found.fault not in HIDDEN | OF_GAINS


def tried(case: Case, without: Outcome, *, standing: bool = False) -> list[Outcome]:
    """Every fault that can be tried, the best first; `standing` for meters that stand still only."""
    trials = [trial for trial in trials_of(case) if trial.runs is not None or not standing]
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
    best = next((each for each in outcomes if _better(case, without, each)), None)
    if best is None:
        return _hanging(case, without, outcomes)
    outcomes = [each for each in outcomes if each.rank >= best.rank]
    if _breadth(case, without, best) < BROADLY:
        return ()
    if explained(without, best) < _least_explained(best):
        return ()
    best, *others = grouped(best, outcomes, without)
    if _slight(best) or any(contrary(best, each) for each in others):
        return ()
    if not others and _vague(case, best):
        return ()
    rivals = tuple(told(case, _honest(case, each), explained(without, each), ()) for each in others)
    return (told(case, _honest(case, best), explained(without, best), rivals),)


def _least_explained(best: Outcome) -> float:
    if best.trial.fault not in UNMETERED:
        return LEAST_EXPLAINED
    return LEAST_FOLLOWED if best.trial.free == "course" else LEAST_EXPLAINED_UNMETERED


def _better(case: Case, without: Outcome, outcome: Outcome) -> bool:
    """True for what explains the readings better than healthy meters do: a meter that is seen to hang does so by
    that as well, but not by that alone.
    """
    if without.cost - max(outcome.cost, outcome.rank) >= BEYOND_HEALTHY:
        return True
    if not hangs(outcome) or without.cost - outcome.rank < BEYOND_HEALTHY or _rests(case, outcome):
        return False
    broadly = _breadth(case, without, outcome) >= BROADLY
    return broadly and explained(without, outcome) >= EXPLAINED_BY_HANGING


def _rests(case: Case, outcome: Outcome) -> bool:
    """True for a meter of what comes to rest that stands where it reads least."""
    row = outcome.trial.meters[0]
    near = _NEAR_REST * max(case.meters[row].floor_w, float(case.quantum[row]))
    least = float(np.nanmin(case.snapshot.low[row]))
    return case.meters[row].stream in RESTING and outcome.parameter <= least + near


def _honest(case: Case, outcome: Outcome) -> Outcome:
    """With the standard deviation that a factor has by the readings, not by what is usual."""
    if outcome.trial.fault != "scale":
        return outcome
    return replace(outcome, sd=abs(outcome.parameter) * freely(case, outcome)[1])


def _slight(outcome: Outcome) -> bool:
    """True for so little that nobody should go and look.

    Of what feeds in as the sun does counts what it gives when it does: no plant's own supplies feed in.
    """
    size = abs(outcome.parameter)
    if outcome.trial.fault == "unmetered_source" and outcome.trial.free == "course":
        flows = np.abs(outcome.fitted.left - outcome.left)
        size = float(np.percentile(flows[flows > 0], _AT_ITS_BEST)) if flows.any() else 0.0
    return outcome.trial.fault in ("offset", *UNMETERED) and size < LEAST_W


def _vague(case: Case, best: Outcome) -> bool:
    """True for a scale of readings so small beside what all others may be off by that its size can't be told.

    Where it has rivals it is one of several anyway.
    """
    if best.trial.fault != "scale":
        return False
    off, sd = freely(case, best)
    # Of what it reads, where that is more than what flows: ten times too much or twenty, there's little to it.
    share = min(1.0, 1.0 / abs(best.parameter))
    if sd > MOST_DOUBT or share * abs(off) > MOST_OFF:
        return True
    # A usual factor need only be told from the next.
    return share * sd > (MOST_VAGUE if best.trial.free else MOST_OFF / _CLEARLY)


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


def _hanging(case: Case, without: Outcome, outcomes: list[Outcome]) -> tuple[Suspect, ...]:
    """A meter that stands for so long that none which is alive would, though its balances hardly show it."""
    found = [
        each
        for each in outcomes
        if each.trial.runs is not None
        and each.cost - each.rank >= HANGING
        and case.meters[each.trial.meters[0]].stream not in RESTING
    ]
    if len(found) != 1:
        return ()
    return (told(case, found[0], explained(without, found[0]), ()),)
