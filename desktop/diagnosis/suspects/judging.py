"""How well a hypothesis explains a case."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.case import Case, System, limit, prior_sd
from desktop.diagnosis.suspects.hidden import Flow, changes, dearness, followed, in_order, mirrored
from desktop.diagnosis.suspects.robust import Fitted, Slack, fit, not_slack
from desktop.diagnosis.suspects.runs import Runs
from desktop.diagnosis.suspects.trials import HEALTHY, Trial
from desktop.diagnosis.suspects.witnesses import witnesses
from desktop.flow.streams import SIGNED

Floats = NDArray[np.float64]
Marks = NDArray[np.bool_]

_UNKNOWN = 1e6
_ROUNDS = 4
_SETTLED = 0.003
_STEPS = 3.0
_LEAST_GAIN, _MOST_GAIN = 5e-4, 2e3
_HALF = float(np.log(2.0))
_MIRRORED = 2.5
_MOST_BLUR = 2.0
_OFF, _OFF_SHARE = 4.0, 0.05
_MOSTLY_OFF, _FEWEST_OFF = 0.1, 3
_NOUGHT = 15.0
_NEVER_MOVED, _FEWEST_EVER = 10.0, 20
_FAR_OUT = 3.0
_BOTH_WAYS = 0.1


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a trial.

    cost       the lower, the better it explains the readings; infinite where it can't be
    parameter  factor of a scale, W of an offset or of something unmetered; NaN where there is none
    sd         its standard deviation
    system, fitted   the equations for the corrected readings, and their fit
    left       (r,) W, the imbalance that it doesn't explain
    rank       its cost beside those of other faults: that a meter hangs shows in its readings alone
    stands     the log of how unlikely it is that a meter reads the same for so long while what it should read moves
    """

    trial: Trial
    cost: float
    parameter: float
    sd: float
    system: System
    fitted: Fitted
    left: Floats
    rank: float = np.inf
    stands: float = 0.0


def healthy(case: Case) -> Outcome:
    """How well healthy meters explain a case."""
    return _plain(case, HEALTHY, case.readings, np.ones(len(case.meters)))


def judged(case: Case, trial: Trial, without: Outcome) -> Outcome:
    """Fit one hypothesis. `without` is the healthy outcome."""
    if trial.fault == "swapped":
        case = case.exchanged(*trial.meters)
    if trial.free == "gain":
        outcome = _scaled(case, trial)
    elif trial.runs is not None:
        outcome = _stuck(case, trial, trial.runs, without)
    elif trial.free == "switched":
        outcome = _switched(case, trial)
    elif trial.free == "course":
        outcome = _coursed(case, trial, without)
    else:
        readings, gain = corrected(case, trial)
        outcome = _plain(case, trial, readings, gain)
    if trial.fault == "scale" and np.isfinite(outcome.cost) and not _shows(case, outcome, trial.meters[0]):
        return replace(outcome, cost=np.inf)
    blur = _blur(case, outcome, without)
    rank = outcome.rank if np.isfinite(outcome.rank) else outcome.cost
    return replace(outcome, cost=outcome.cost + blur, rank=rank + blur)


def corrected(case: Case, trial: Trial) -> tuple[Floats, Floats]:
    """Readings (J, n) as they'd be without the fault, before any fit; and by what they were multiplied."""
    readings, gain = case.readings, np.ones(len(case.meters))
    if trial.factor != 1.0:
        readings = readings.copy()
        gain[trial.meters[0]] = 1.0 / trial.factor
        readings[trial.meters[0]] *= gain[trial.meters[0]]
    return readings, gain


def _plain(case: Case, trial: Trial, readings: Floats, gain: Floats) -> Outcome:
    """With the parameter, if there is one, among what is fitted at once."""
    creeps = trial.meters[0] if trial.free == "offset" else -1
    system = System.of(case, readings, gain, creeps)
    prior = prior_sd(case)
    column = _free_column(case, trial)
    if column is not None:
        prior[column] = _UNKNOWN
    slack = slack_of(trial, system)
    fitted = fit(system.y, system.design, system.sigma, system.weight, prior, slack=slack, limit=limit(case))
    parameter, sd = _parameter(trial, fitted, column)
    left = fitted.left
    if slack is not None:
        unexplained = not_slack(left / system.sigma, slack)
        flows = (1 - unexplained) * system.weight * (slack.side != 0)
        parameter = float(np.abs(flows @ left) / max(float((system.weight * (slack.side != 0)).sum()), 1e-9))
        left = np.where(slack.side != 0, left * unexplained, left)
    cost = fitted.cost + trial.penalty
    if trial.free == "offset":
        parameter, more = _witnessed(case, trial.meters[0], parameter, sd)
        cost += more
    else:
        cost += witnesses(case, readings, gain)
    if trial.free == "constant" and (parameter > 0) != (trial.fault == "unmetered_load"):
        cost = np.inf
    return Outcome(trial, cost, parameter, sd, system, fitted, left)


def _witnessed(case: Case, row: int, fitted: float, sd: float) -> tuple[float, float]:
    """An offset and what it costs, where what the balances leave open may be settled by what can't be."""
    lowest = float(np.nanpercentile(case.readings[row], 1))
    gain = np.ones(len(case.meters))
    best = fitted, np.inf
    for offset in (fitted, float(np.clip(lowest, fitted - _FAR_OUT * sd, fitted + _FAR_OUT * sd))):
        readings = case.readings.copy()
        readings[row] -= offset
        cost = witnesses(case, readings, gain) + 0.5 * ((offset - fitted) / sd) ** 2
        if cost < best[1]:
            best = offset, cost
    return best


def _scaled(case: Case, trial: Trial) -> Outcome:
    """A factor that nobody knows: fitted again and again, as noise and direction depend on it."""
    row = trial.meters[0]
    gain, readings = np.ones(len(case.meters)), case.readings.copy()
    prior = prior_sd(case)
    prior[row] = _UNKNOWN
    for _ in range(_ROUNDS):
        system = System.of(case, readings, gain)
        fitted = fit(system.y, system.design, system.sigma, system.weight, prior, limit=limit(case))
        change = 1.0 - float(fitted.beta[row])
        if abs(change - 1.0) < _SETTLED:
            break
        if not _LEAST_GAIN < abs(gain[row] * change) < _MOST_GAIN:
            return Outcome(trial, np.inf, np.nan, np.nan, system, fitted, fitted.left)
        gain[row] *= change
        readings[row] = case.readings[row] * gain[row]
    factor = 1.0 / gain[row]
    cost = fitted.cost + trial.penalty + witnesses(case, readings, gain)
    return Outcome(trial, cost, factor, abs(factor) * float(fitted.sd[row]), system, fitted, fitted.left)


def freely(case: Case, outcome: Outcome) -> tuple[float, float]:
    """Where a scale's factor would go if nothing were known of it, and its standard deviation, as shares of it."""
    row = outcome.trial.meters[0]
    prior = prior_sd(case)
    prior[row] = _UNKNOWN
    system = outcome.system
    start = outcome.fitted.beta
    fitted = fit(system.y, system.design, system.sigma, system.weight, prior, start=start, limit=limit(case))
    return float(fitted.beta[row]), float(fitted.sd[row])


def _shows(case: Case, outcome: Outcome, row: int) -> bool:
    """True where a scale makes more of the readings than a meter's floor, and than the steps they are told in."""
    read = case.readings[row][np.isfinite(case.readings[row])]
    steps = float(case.quantum[row]) * (_STEPS if outcome.trial.free else 0.0)
    largest = float(np.percentile(np.abs(read), 95))
    return largest > steps and largest / abs(outcome.parameter) > max(case.meters[row].floor_w, 1.0)


def _stuck(case: Case, trial: Trial, runs: Runs, without: Outcome) -> Outcome:
    """Where the meter stood still and the balance is off, its readings tell nothing."""
    off, stood, longest = _off_while_still(case, trial.meters[0], runs, without.system)
    outcome, cost = without, np.inf
    if not off.any():
        longest = int(np.argmax(runs.odds))
        stood = np.zeros(len(off), np.bool_)
        stood[: len(case.cells)] = runs.label[case.cells] == longest
    for unread, find in ((off, _now_and_then), (stood, _all_the_while)):
        if unread.any() and len(without.system.sigma):
            found = find(case, trial, without, unread)
            total = found.cost
            if unread is off:
                total += float(case.weight @ stood) * _choice(off.sum() / max(1, stood.sum()))
            if total < cost:
                outcome, cost = found, total
    value, odds = (runs.value[longest], runs.odds[longest]) if np.isfinite(cost) else (np.nan, 0.0)
    rank = cost - float(odds) + (_NOUGHT if value == 0 and odds == 0 else 0.0)
    stands = float(odds) + changes(case, without.system, trial.meters[0], stood) * _HALF
    stands += _MIRRORED * mirrored(case, without.system, trial.meters[0], stood)
    # What isn't metered explains the balance, but not why this meter never moved, nor rests at nothing.
    if runs.throughout and value != 0 and len(case.cells) >= _FEWEST_EVER:
        stands += _NEVER_MOVED
    return replace(outcome, trial=trial, cost=cost, rank=rank, parameter=float(value), sd=0.0, stands=stands)


def _now_and_then(case: Case, trial: Trial, without: Outcome, unread: Marks) -> Outcome:
    """Nothing is known of what flows in these columns."""
    found = _plain(case, trial, _without(case, trial, unread), np.ones(len(case.meters)))
    dropped = float(without.system.weight.sum() - found.system.weight.sum())
    if dropped <= 0:
        return replace(found, cost=np.inf)
    return replace(found, cost=found.cost + dropped * _price(trial, without.system, unread))


def _all_the_while(case: Case, trial: Trial, without: Outcome, unread: Marks) -> Outcome:
    """What flows in these columns goes on as it was, or starts anew."""
    row, system = trial.meters[0], without.system
    weight = np.array([each.weights[row] for each in system.equations])[system.equation]
    mine = in_order(system, np.flatnonzero((weight != 0) & unread[system.cell]))
    if not len(mine):
        return replace(without, trial=trial, cost=np.inf)
    readings = _without(case, trial, unread)
    rest = System.of(case, readings, np.ones(len(case.meters)))
    side = 0.0 if case.meters[row].stream in SIGNED else 1.0
    flow = Flow(mine, case.readings[row, system.cell[mine]], -1.0 / weight[mine], side)
    found = followed(case, system, flow, rest)
    cost = found.cost + trial.penalty + witnesses(case, readings, np.ones(len(case.meters)))
    left = rest.y - rest.design @ found.fitted.beta
    return Outcome(trial, cost, np.nan, np.nan, rest, replace(found.fitted, left=left), left)


def _without(case: Case, trial: Trial, unread: Marks) -> Floats:
    """(J, n) the readings without those of a meter in these columns."""
    readings = case.readings.copy()
    readings[trial.meters[0], unread] = np.nan
    return readings


def _off_while_still(case: Case, row: int, runs: Runs, system: System) -> tuple[Marks, Marks, int]:
    """(n,) columns in which the meter stood still and its balance is off, the way it can be; (n,) all of the
    stretches in which that is so more often than now and then; and the one that counts most."""
    label = np.full(case.readings.shape[1], -1, np.intp)
    label[: len(case.cells)] = runs.label[case.cells]
    held = [each.weights[row] if np.count_nonzero(each.weights) > 1 else 0.0 for each in system.equations]
    weight = np.array(held)[system.equation]
    scale = np.abs(system.design[:, : len(case.meters)]).max(axis=1)
    far = (weight != 0) & (np.abs(system.y) > np.maximum(_OFF * system.sigma, _OFF_SHARE * scale))
    implied = case.readings[row][system.cell] - system.y / np.where(weight == 0, 1.0, weight)
    if case.meters[row].stream not in SIGNED:
        far &= implied > -_OFF * system.sigma
    off, told = np.zeros(len(label), np.bool_), np.zeros(len(label), np.bool_)
    off[system.cell[far]] = True
    told[system.cell[weight != 0]] = True
    off &= label >= 0
    if case.meters[row].stream in SIGNED:
        nought = np.append((runs.value == 0) & ~runs.certain, False)[label[system.cell]]
        if not _one_way(implied[far & nought]):
            off[system.cell[nought]] = False
    counts = np.bincount(label[off], minlength=len(runs.value))
    total = np.bincount(label[told & (label >= 0)], minlength=len(runs.value))
    concerned = (counts >= _FEWEST_OFF) & (runs.certain | (counts >= _MOSTLY_OFF * total))
    longest = int(np.argmax(np.where(concerned, counts, -1)))
    concerned &= runs.value == runs.value[longest]
    stood = (label >= 0) & concerned[np.maximum(label, 0)]
    return off & stood, stood, longest


def _choice(share: float) -> float:
    """What it costs a cell to be picked or not, where this share of them is: the entropy of the choice."""
    parts = [part for part in (float(share), 1.0 - float(share)) if part > 0]
    return -sum(part * math.log(part) for part in parts)


def _one_way(power: Floats) -> bool:
    """True where nearly all of it runs the same way: what is just an error runs both."""
    return bool(len(power)) and not _BOTH_WAYS < float(np.mean(power > 0)) < 1 - _BOTH_WAYS


def _price(trial: Trial, system: System, unread: Marks) -> float:
    """What it costs a row that nothing is known of it."""
    flows = system.y[unread[system.cell] & (system.design[:, trial.meters[0]] != 0)]
    return float(dearness(flows, np.median(system.sigma))) + _HALF


def _switched(case: Case, trial: Trial) -> Outcome:
    """Something of one size that is on and off."""
    readings, gain = case.readings, np.ones(len(case.meters))
    loose = _plain(case, replace(trial, free=""), readings, gain)
    system = loose.system
    flows = loose.fitted.left - loose.left
    on = np.abs(flows) > 0.5 * np.abs(loose.fitted.left)
    on &= np.abs(loose.fitted.left) > _OFF * system.sigma
    concerned = np.array([trial.bus in each.buses for each in system.equations], np.bool_)[system.equation]
    if not on.any():
        return replace(loose, trial=trial, cost=np.inf)
    size = float(np.median(loose.fitted.left[on]))
    y = system.y - np.where(on, size, 0.0)
    fitted = fit(y, system.design, system.sigma, system.weight, prior_sd(case), limit=limit(case))
    cost = fitted.cost + trial.penalty + _HALF * float(system.weight @ concerned)
    cost += witnesses(case, readings, gain)
    return Outcome(trial, cost, abs(size), float(np.std(fitted.left[on])), system, fitted, fitted.left)


def _coursed(case: Case, trial: Trial, without: Outcome) -> Outcome:
    """Something unmetered that goes on as it was, or starts anew."""
    system, slack = without.system, slack_of(trial, without.system)
    if slack is None or not slack.side.any():
        return replace(without, trial=trial, cost=np.inf)
    mine = in_order(system, np.flatnonzero(slack.side))
    rest = system.only(slack.side == 0)
    flow = Flow(mine, np.zeros(len(mine)), np.ones(len(mine)), float(slack.side[mine[0]]))
    found = followed(case, system, flow, rest)
    cost = found.cost + trial.penalty + witnesses(case, case.readings, np.ones(len(case.meters)))
    left = system.y - system.design @ found.fitted.beta
    fitted = replace(found.fitted, left=left.copy())
    left[mine] -= found.track.flows
    mean = float(np.average(np.abs(found.track.flows), weights=system.weight[mine]))
    return Outcome(trial, cost, mean, np.nan, system, fitted, left)


def _blur(case: Case, outcome: Outcome, without: Outcome) -> float:
    """What it costs that a correction makes readings so uncertain, beside what flows, that they fit anything."""
    system, plain = outcome.system, without.system
    if len(system.sigma) != len(plain.sigma):
        return 0.0
    meters = len(case.meters)
    grown = np.log(_turnover(system, meters) / _turnover(plain, meters))
    blur = np.log(system.sigma / plain.sigma) - grown
    return float(plain.weight @ np.clip(blur, 0.0, _MOST_BLUR))


def _turnover(system: System, meters: int) -> Floats:
    """(r,) W that the readings of each row say flows in all."""
    flows: Floats = np.abs(system.design[:, :meters]).sum(axis=1) + system.sigma
    return flows


def _free_column(case: Case, trial: Trial) -> int | None:
    meters = len(case.meters)
    if trial.free == "offset":
        return meters + trial.meters[0]
    if trial.free == "constant":
        return 2 * meters + (5 if trial.bus == "ac" else 6)
    return None


def _parameter(trial: Trial, fitted: Fitted, column: int | None) -> tuple[float, float]:
    if column is not None:
        return float(fitted.beta[column]), float(fitted.sd[column])
    if trial.fault == "scale":
        row = trial.meters[0]
        return trial.factor * (1 + float(fitted.beta[row])), abs(trial.factor) * float(fitted.sd[row])
    return np.nan, np.nan


def slack_of(trial: Trial, system: System) -> Slack | None:
    """Where something may flow that this hypothesis doesn't know."""
    if not trial.bus or trial.free == "constant":
        return None
    concerned = np.array([trial.bus in each.buses for each in system.equations], np.bool_)
    side = np.where(concerned[system.equation], 1.0 if trial.fault == "unmetered_load" else -1.0, 0.0)
    return Slack(side, dearness(system.y[side != 0], system.sigma))
