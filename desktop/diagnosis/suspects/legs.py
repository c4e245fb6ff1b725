"""One leg of several: what a meter sees goes along with what it should see, and strays besides."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.case import Case, System, limit, prior_sd
from desktop.diagnosis.suspects.hidden import Flow, followed, in_order
from desktop.diagnosis.suspects.judging import Outcome, healthy, slack_of
from desktop.diagnosis.suspects.robust import Slack, fit, not_slack
from desktop.diagnosis.suspects.trials import PENALTY, Trial
from desktop.diagnosis.suspects.witnesses import witnesses

Floats = NDArray[np.float64]

_WIDER_W = (0.0, 40.0, 120.0, 360.0, 1080.0)
_UNKNOWN = 1e6
_LEAST_SHARE, _MOST_SHARE = 0.02, 0.98
_NEGATIVE_W, _BASE_W = -30.0, 40.0
_STANDS = 3.0
_LOADED_W, _FEWEST, _NEAR = 200.0, 5, 0.05
_CERTAIN = 30.0
_LEAST_PERCENTILE = 5.0


def one_leg(case: Case, trial: Trial, scaled: Outcome) -> Outcome:
    """Fit it with several widths of what strays, and as loads on the other leg that come and go; keep the best.

    scaled  the outcome of a plain factor, from which this starts
    """
    gain = np.ones(len(case.meters))
    if np.isfinite(scaled.cost) and _LEAST_SHARE < scaled.parameter < _MOST_SHARE:
        gain[trial.meters[0]] = 1.0 / scaled.parameter
    readings = case.readings * gain[:, None]
    outcomes = [
        _straying(case, trial, System.of(case, readings, gain, trial.meters[0]), readings, wider)
        for wider in _WIDER_W
    ]
    base = System.of(case, case.readings, np.ones(len(case.meters)), trial.meters[0])
    hidden = _coming_and_going(case, trial, base), _going_on(case, trial, base)
    best = min((*outcomes, *hidden), key=lambda each: each.cost)
    return replace(best, rank=best.cost - _seen_by_leg(case, trial))


def _seen_by_leg(case: Case, trial: Trial) -> float:
    """How much likelier it is where the meter reads what volts and amperes of a single leg make."""
    row = trial.meters[0]
    stream = case.meters[row].stream
    legs = [other for other, meter in enumerate(case.meters) if meter.stream == stream and not meter.of_power]
    power = case.readings[row]
    loaded = power > _LOADED_W
    if len(legs) < 2 or loaded.sum() < _FEWEST:
        return 0.0
    off = [float(np.nanmedian(np.abs(case.readings[leg][loaded] / power[loaded] - 1))) for leg in legs]
    return _CERTAIN if min(off) < _NEAR < sorted(off)[1] else 0.0


def _straying(case: Case, trial: Trial, base: System, start: Floats, wider: float) -> Outcome:
    row, meters = trial.meters[0], len(case.meters)
    prior = prior_sd(case)
    prior[row] = _UNKNOWN
    concerned = (base.design[:, row] != 0) | (base.design[:, meters + row] != 0)
    if case.meters[row].stream == "load":
        # Of a house some part is always on; a generator that stands still gives nothing on any leg.
        prior[meters + row] = _UNKNOWN
    else:
        concerned &= _gives(case, row)[base.cell]
    sigma = np.where(concerned, np.hypot(base.sigma, wider), base.sigma)
    fitted = fit(base.y, base.design, sigma, base.weight, prior, limit=limit(case))
    price = float(base.weight @ np.log(sigma / base.sigma))
    readings = start.copy()
    readings[row] = readings[row] * (1 - fitted.beta[row]) - fitted.beta[meters + row]
    known = np.isfinite(readings[row])
    seen, whole = case.readings[row][known], readings[row][known]
    share = float(seen.sum() / max(1.0, whole.sum()))
    cost = fitted.cost + price + trial.penalty + witnesses(case, readings, np.ones(meters))
    if np.percentile(whole - seen, 10) < _NEGATIVE_W or not _LEAST_SHARE < share < _MOST_SHARE:
        cost = np.inf
    return Outcome(trial, cost, share, 0.0, base, fitted, fitted.left)


def _coming_and_going(case: Case, trial: Trial, base: System) -> Outcome:
    """What isn't seen is always on, and loads of its own come and go."""
    row, meters = trial.meters[0], len(case.meters)
    load = case.meters[row].stream == "load"
    slack = _unseen(case, trial, base)
    prior = prior_sd(case)
    if load:
        prior[meters + row] = _UNKNOWN
    fitted = fit(base.y, base.design, base.sigma, base.weight, prior, slack=slack, limit=limit(case))
    always = -float(fitted.beta[meters + row])
    cost = fitted.cost + trial.penalty + witnesses(case, case.readings, np.ones(meters))
    if always < _BASE_W:
        cost += PENALTY["scale"] if always > _NEGATIVE_W else np.inf
    left = fitted.left
    if slack is not None:
        left = np.where(slack.side != 0, left * not_slack(left / base.sigma, slack), left)
    concerned = np.array([bool(each.weights[row]) for each in base.equations], np.bool_)[base.equation]
    flows = float(np.sum(np.abs(fitted.left - left)[concerned])) / max(1, int(concerned.sum()))
    share = _share(case, row, max(always, 0.0) + flows)
    return Outcome(trial, cost, share, 0.0, base, fitted, left)


def _going_on(case: Case, trial: Trial, base: System) -> Outcome:
    """What isn't seen goes on as it was, or starts anew."""
    row, slack = trial.meters[0], _unseen(case, trial, base)
    if slack is None or not slack.side.any():
        return Outcome(trial, np.inf, np.nan, 0.0, base, healthy(case).fitted, base.y)
    mine = in_order(base, np.flatnonzero(slack.side))
    flow = Flow(mine, np.zeros(len(mine)), np.ones(len(mine)), float(slack.side[mine[0]]))
    found = followed(case, base, flow, base.only(slack.side == 0))
    flows = np.abs(found.track.flows)
    cost = found.cost + trial.penalty + witnesses(case, case.readings, np.ones(len(case.meters)))
    if case.meters[row].stream == "load" and np.percentile(flows, _LEAST_PERCENTILE) < _BASE_W:
        cost += PENALTY["scale"]
    left = base.y - base.design @ found.fitted.beta
    fitted = replace(found.fitted, left=left.copy())
    left[mine] -= found.track.flows
    return Outcome(trial, cost, _share(case, row, float(flows.mean())), 0.0, base, fitted, left)


def _unseen(case: Case, trial: Trial, base: System) -> Slack | None:
    """Where something may flow on legs that aren't seen."""
    row = trial.meters[0]
    load = case.meters[row].stream == "load"
    hidden = replace(trial, bus="ac", free="", fault="unmetered_load" if load else "unmetered_source")
    slack = slack_of(hidden, base)
    if slack is None or load:
        return slack
    return replace(slack, side=np.where(_gives(case, row)[base.cell], slack.side, 0.0))


def _gives(case: Case, row: int) -> NDArray[np.bool_]:
    """(n,) where a generator gives anything: while it gives nothing on the legs that are seen, nor on the others.

    Where its meter is seen to read exactly nothing at rest, a little is more than that.
    """
    readings = np.nan_to_num(case.readings[row])
    rests = bool(np.any(case.readings[row] == 0))
    least = float(case.quantum[row]) if rests else _STANDS * case.meters[row].floor_w
    gives: NDArray[np.bool_] = readings > max(least, 1.0)
    return gives


def _share(case: Case, row: int, unseen: float) -> float:
    """The share of what flows that a meter sees, on average."""
    seen = float(np.nanmean(case.readings[row]))
    return seen / max(1.0, seen + unseen)
