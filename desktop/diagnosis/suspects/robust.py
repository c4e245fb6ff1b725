"""Robust least squares with known prior deviations: the likelihoods that hypotheses are compared by.

A hypothesis says  y = D·β + error,  β being what it leaves open: gains and offsets of healthy meters, known to
within their class, and the fault's own parameter, about which nothing is known. Its cost is the least of

    Σ weight·ρ((y − D·β)/σ) + ½ Σ (β/sd)²

half of minus two log-likelihoods. With ρ(z) = z²/2 and a free column the drop in cost is half the generalised
likelihood ratio d²/C (Narasimhan & Jordache 2000, chapter 7). ρ here is that of Student's t, which believes in
outliers.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

TAILS = 4.0
"""Degrees of freedom of the errors' t distribution."""

_COOLING = (12.0, 4.0, 1.5, 1.0, 1.0, 1.0, 1.0)
_WARM = (1.0, 1.0, 1.0)
_HALF = float(np.log(2.0))
_FIXED = 1e-6

AT_ONCE = 200_000
"""So many products at once: threads that share a larger matrix product wait for each other longer than it takes."""


@dataclass(frozen=True, slots=True)
class Slack:
    """Rows in which something that is nowhere metered may flow.

    side   (r,) +1 where the imbalance may only rise by it, -1 where it may only fall, 2 where either may be,
           0 where nothing may flow
    price  (r,) what it costs a row that something flows: the log of how many deviations it might have been
    """

    side: Floats
    price: Floats


@dataclass(frozen=True, slots=True)
class Fitted:
    """What came of a fit.

    beta, sd  (p,) estimates and their standard deviations
    cost      the least cost
    left      (r,) y − D·β
    stretch   what the estimates cost by themselves
    """

    beta: Floats
    sd: Floats
    cost: float
    left: Floats
    stretch: float = 0.0


def generalised_ratio(y: Floats, design: Floats, sigma: Floats, prior_sd: Floats) -> Fitted:
    """The plain Gaussian fit: ρ(z) = z²/2. Twice the difference of two costs is their likelihood ratio.

    y (r,), design (r, p), sigma (r,), prior_sd (p,) with infinity for what is not known at all
    """
    weight = sigma**-2.0
    beta, covariance = _solve(y, design, weight, prior_sd)
    left = y - design @ beta
    cost = 0.5 * float(weight @ left**2) + _prior_cost(beta, prior_sd)
    return Fitted(beta, np.sqrt(np.diag(covariance)), cost, left)


def fit(
    y: Floats,
    design: Floats,
    sigma: Floats,
    weight: Floats,
    prior_sd: Floats,
    *,
    start: Floats | None = None,
    slack: Slack | None = None,
    limit: Floats | None = None,
) -> Fitted:
    """The robust fit. Without a start it is reached from wide errors that are narrowed step by step.

    weight (r,): how much a row counts; limit (2, p): the least and most that estimates may be; other arguments
    as in `generalised_ratio`
    """
    beta = np.zeros(design.shape[1]) if start is None else start
    covariance = np.empty((0, 0))
    for round_, wide in enumerate(_COOLING if start is None else _WARM):
        z = (y - design @ beta) / (sigma * wide)
        pull = weight * (TAILS + 1) / (TAILS + z * z) / (sigma * wide) ** 2
        if slack is not None and (round_ > 0 or start is not None):
            pull *= not_slack(z * wide, slack)
        beta, covariance = _solve(y, design, pull, prior_sd)
        if limit is not None and np.any((beta < limit[0]) | (beta > limit[1])):
            beta, covariance = _within(y, design, pull, prior_sd, beta, limit)
    left = y - design @ beta
    stretch = _prior_cost(beta, prior_sd)
    cost = float(weight @ losses(left / sigma, slack)) + stretch
    return Fitted(beta, np.sqrt(np.maximum(np.diag(covariance), 0.0)), cost, left, stretch)


def losses(z: Floats, slack: Slack | None = None) -> Floats:
    """(r,) what each row costs."""
    cost: Floats = (TAILS + 1) / 2 * np.log1p(z * z / TAILS)
    if slack is None:
        return cost
    mixed: Floats = np.where(slack.side != 0, _HALF - np.logaddexp(-cost, _flowing(z, slack)), cost)
    return mixed


def not_slack(z: Floats, slack: Slack) -> Floats:
    """(r,) how likely nothing unmetered flows in a row, where something may; z in standard deviations."""
    cost = (TAILS + 1) / 2 * np.log1p(z * z / TAILS)
    likely: Floats = np.exp(-cost - np.logaddexp(-cost, _flowing(z, slack)))
    return likely


def _flowing(z: Floats, slack: Slack) -> Floats:
    """(r,) log of how likely a row's imbalance is what flows unmetered."""
    either = np.abs(slack.side) > 1
    return np.where(either | (slack.side * z > 0), -slack.price, -np.inf)


def _solve(y: Floats, design: Floats, weight: Floats, prior_sd: Floats) -> tuple[Floats, Floats]:
    weighted = design * weight[:, None]
    columns = design.shape[1]
    normal = np.zeros((columns, columns))
    at_once = max(1, AT_ONCE // columns**2)
    for start in range(0, len(y), at_once):
        part = slice(start, start + at_once)
        normal += weighted[part].T @ design[part]
    normal[np.diag_indices_from(normal)] += prior_sd**-2.0 + 1e-12 * (1.0 + np.diag(normal))
    covariance = np.asarray(np.linalg.inv(normal), np.float64)
    return covariance @ (weighted.T @ y), covariance


def _within(
    y: Floats, design: Floats, weight: Floats, prior_sd: Floats, beta: Floats, limit: Floats
) -> tuple[Floats, Floats]:
    """The same with estimates that lie too far out put at their limits."""
    over = (beta < limit[0]) | (beta > limit[1])
    fixed = np.where(over, np.clip(beta, *limit), 0.0)
    rest, covariance = _solve(y - design @ fixed, design, weight, np.where(over, _FIXED * prior_sd, prior_sd))
    return rest + fixed, covariance


def _prior_cost(beta: Floats, prior_sd: Floats) -> float:
    return 0.5 * float(((beta / prior_sd) ** 2).sum())
