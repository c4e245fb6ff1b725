"""Reconciliation of any small network, with the tests for gross errors: the plant's own rows go the same way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.flow.bounds import NonNegative
from desktop.flow.forms import Scratch
from desktop.flow.least_squares import LeastSquares
from desktop.flow.observability import Observability

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Solution:
    """A reconciled network of m streams in n rows, with k constraints on the measured streams.

    known        what can be told of each stream
    value        (m, n) NaN where unobservable
    variance     (m, n) of `value`, without regard to bounds
    residual     (k, n) what the readings leave over, and covariance (k, k, n) of that
    chi2         (n,) the global test, with `known.degrees_of_freedom`; without regard to bounds
    measurement_test  (m, n) |adjustment| / its standard deviation; NaN where there is no redundancy
    """

    known: Observability
    value: Floats
    variance: Floats
    residual: Floats
    covariance: Floats
    chi2: Floats
    measurement_test: Floats

    @property
    def nodal_test(self) -> Floats:
        """(k, n) |residual| / its standard deviation."""
        tested: Floats = np.abs(self.residual) / np.sqrt(np.einsum("jjn->jn", self.covariance))
        return tested

    def likelihood_ratio(self, fault: Floats) -> tuple[Floats, Floats]:
        """(n,) how much of χ² a fault explains, and (n,) its size.

        fault  (k,) the residuals that a fault of size 1 makes: a column of `known.constraints` for a biased
               meter, a unit vector for a leak at a node

        Narasimhan and Mah 1987 (AIChE J. 33:1514).
        """
        solved = np.linalg.solve(np.moveaxis(self.covariance, 2, 0), fault[:, None])[..., 0]
        along = np.einsum("nk,kn->n", solved, self.residual)
        weight = solved @ fault
        return along**2 / weight, along / weight


def reconcile_network(
    balances: Floats,
    measured: Floats,
    *,
    sd: Floats | None = None,
    covariance: Floats | None = None,
    nonnegative: Sequence[int] = (),
) -> Solution:
    """The most probable streams x with balances @ x = 0.

    balances     (r, m)
    measured     (m, n) readings; a stream without a meter is NaN in all rows
    sd           (m, n) their standard deviations, above zero; or
    covariance   (m, m) of the readings, the same in all rows
    nonnegative  streams that can't be negative

    ValueError where a stream is measured in some of the rows only.
    """
    balances, measured = np.asarray(balances, float), np.ascontiguousarray(measured, float)
    missing = np.isnan(measured)
    if (missing.any(axis=1) != missing.all(axis=1)).any():
        raise ValueError("a stream must be measured in all rows or in none")
    metered = np.flatnonzero(~missing.all(axis=1)).tolist()
    if covariance is not None:
        return _correlated(balances, measured, metered, np.asarray(covariance, float), nonnegative)
    variance = np.ascontiguousarray(np.broadcast_to(np.asarray(sd, float) ** 2, measured.shape))
    unmetered = [i for i in range(len(measured)) if i not in metered]
    return _solved(balances, measured, variance, metered, unmetered, nonnegative)


def _solved(
    balances: Floats,
    measured: Floats,
    variance: Floats,
    metered: list[int],
    unmetered: list[int],
    nonnegative: Sequence[int],
) -> Solution:
    known = Observability.of(balances, metered, unmetered, list(np.eye(len(balances))))
    squares, scratch = LeastSquares(known), Scratch()
    rows, size = measured.shape[1], known.degrees_of_freedom
    scratch.begin(rows)
    y, spread = list(measured), list(variance)
    left = squares.imbalance(y, spread, scratch)
    value, out, chi2 = np.empty_like(measured), np.empty_like(measured), np.empty(rows)
    left.chi2(chi2, scratch.spare)
    squares.values(y, spread, left, list(value), scratch)
    squares.variances(spread, left, list(out), scratch)
    test = np.full(measured.shape, np.nan)
    redundant = sorted(known.redundant)
    adjusted = np.sqrt(np.maximum(variance[redundant] - out[redundant], 0.0))
    test[redundant] = np.abs(measured[redundant] - value[redundant]) / adjusted
    residual = np.array(left.residual).reshape(size, rows)
    whole = np.zeros((size, size, rows))
    for place, entry in left.covariance.items():
        j, k = divmod(place, size)
        whole[j, k] = whole[k, j] = entry
    bounds = NonNegative(balances, known, nonnegative)
    low = bounds.below(list(value))
    if low.size:
        part = {i: value[i, low] for i in (*metered, *known.computed)}
        bounds.settle({i: y[i][low] for i in metered}, {i: spread[i][low] for i in metered}, part)
        for i, settled in part.items():
            value[i, low] = settled
    return Solution(known, value, out, residual, whole, chi2, test)


def _correlated(
    balances: Floats,
    measured: Floats,
    metered: list[int],
    covariance: Floats,
    nonnegative: Sequence[int],
) -> Solution:
    """Correlated readings as a larger network without correlation.

    Each reading is a stream that is exactly what it is, plus a mix of independent errors of size 1, which are
    streams "measured" as 0: x − reading − L·errors = 0, with L·Lᵀ the covariance.
    """
    streams, count = len(measured), len(metered)
    errors = np.linalg.cholesky(covariance[np.ix_(metered, metered)])
    network = np.zeros((len(balances) + count, streams + 2 * count))
    network[: len(balances), :streams] = balances
    network[len(balances) :, metered] = np.eye(count)
    network[len(balances) :, streams : streams + count] = -np.eye(count)
    network[len(balances) :, streams + count :] = -errors
    rows = measured.shape[1]
    readings = np.vstack((np.full((streams, rows), np.nan), measured[metered], np.zeros((count, rows))))
    variance = np.vstack((np.full((streams, rows), np.nan), np.zeros((count, rows)), np.ones((count, rows))))
    seen = list(range(streams, streams + 2 * count))
    with np.errstate(invalid="ignore", divide="ignore"):
        wide = _solved(network, readings, variance, seen, list(range(streams)), nonnegative)
    own = np.diag(covariance)[metered][:, None] - wide.variance[metered]
    test = np.full(measured.shape, np.nan)
    test[metered] = np.abs(measured[metered] - wide.value[metered]) / np.sqrt(np.maximum(own, 0.0))
    return Solution(
        wide.known,
        wide.value[:streams],
        wide.variance[:streams],
        wide.residual,
        wide.covariance,
        wide.chi2,
        test,
    )
