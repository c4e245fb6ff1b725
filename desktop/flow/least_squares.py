"""Weighted least squares under linear balances, for many rows at once, with one pattern of meters.

min Σ((x − y)/σ)²  subject to  G·x = 0, with r = G·y and V = G·S·Gᵀ (S = diag σ²):

    x = y − S·Gᵀ·V⁻¹·r        cov(x) = S − S·Gᵀ·V⁻¹·G·S        χ² = rᵀ·V⁻¹·r

Kuehn and Davidson 1961 (Chem. Eng. Prog. 57:44); Narasimhan and Jordache 2000, chapter 3.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.flow.forms import Rows, Scratch, Terms, terms_of, weigh
from desktop.flow.inverse import Symmetric, filled, inverted
from desktop.flow.likes import Likes
from desktop.flow.observability import Observability

Floats = NDArray[np.float64]

# v·(1 − v·h) is never negative in exact arithmetic; this keeps rounding from making it so.
_ONE = 1.0 + 1e-12


@dataclass(slots=True)
class Imbalance:
    """What the readings leave over, for each constraint; arrays over rows, in scratch memory.

    residual    G·y
    covariance  V
    inverse     V⁻¹
    multiplier  V⁻¹·G·y
    y, variance   readings and variances of the groups of streams that are alike
    """

    residual: list[Floats]
    covariance: Symmetric
    inverse: Symmetric
    multiplier: list[Floats]
    y: list[Floats]
    variance: list[Floats]

    def chi2(self, out: Floats, spare: Floats) -> None:
        """out = rᵀ·V⁻¹·r, the global test."""
        if not self.residual:
            out.fill(0.0)
            return
        np.multiply(self.residual[0], self.multiplier[0], out=out)
        for residual, multiplier in zip(self.residual[1:], self.multiplier[1:], strict=True):
            np.multiply(residual, multiplier, out=spare)
            np.add(out, spare, out=out)


class LeastSquares:
    """The solution for one pattern of meters, prepared once and applied to any number of rows.

    hidden  measured streams whose reconciled values nobody asks for: their outputs are left as they are
    """

    def __init__(self, known: Observability, hidden: Collection[int] = ()) -> None:
        self.known = known
        self.size = size = len(known.constraints)
        self._shown = [i for i in known.measured if i not in hidden]
        self._likes = likes = Likes.of(known)
        rows = likes.constraints
        self._residual = [terms_of(row) for row in rows]
        covariance = {j * size + k: terms_of(rows[j] * rows[k]) for j in range(size) for k in range(j, size)}
        self._covariance = {place: terms for place, terms in covariance.items() if terms}
        self._places = filled(frozenset(self._covariance), size)
        self._pull = [terms_of(column) for column in rows.T]
        self._gain = [self._squared(column) for column in rows.T]
        self._computed = {u: self._moments(weights) for u, weights in likes.computed.items()}
        self._summed = sorted({group for c in self._computed.values() for group, _ in c.weights})

    def _squared(self, along: Floats) -> Terms:
        """The weights on the entries of V⁻¹ that make alongᵀ·V⁻¹·along."""
        whole = np.zeros(self.size**2)
        for place in self._places:
            j, k = divmod(place, self.size)
            whole[place] = along[j] * along[k] * (1 if j == k else 2)
        return terms_of(whole)

    def _moments(self, weights: Floats) -> _Computed:
        along = {j: _scaled(terms_of(weights * row)) for j, row in enumerate(self._likes.constraints)}
        pairs = []
        for place in sorted(self._places):
            j, k = divmod(place, self.size)
            factor = along[j][0] * along[k][0] * (1 if j == k else 2)
            if factor:
                pairs.append((place, along[j][1], along[k][1], factor))
        return _Computed(terms_of(weights), _scaled(terms_of(weights**2 * _ONE)), tuple(pairs))

    def imbalance(self, y: Rows, variance: Rows, scratch: Scratch) -> Imbalance:
        """y, variance: a row per stream; only measured ones are looked at. Variances must be above zero."""
        grouped, spread = self._likes.sums(y, variance, scratch)
        residual = [_weighed(terms, grouped, scratch) for terms in self._residual]
        covariance = {place: _weighed(terms, spread, scratch) for place, terms in self._covariance.items()}
        inverse = inverted(covariance, self.size, scratch)
        multiplier = [self._multiplier(j, inverse, residual, scratch) for j in range(self.size)]
        return Imbalance(residual, covariance, inverse, multiplier, grouped, spread)

    def _multiplier(self, j: int, inverse: Symmetric, residual: list[Floats], scratch: Scratch) -> Floats:
        out, spare = scratch.take(), scratch.spare
        np.multiply(inverse[j * (self.size + 1)], residual[j], out=out)
        for k, left in enumerate(residual):
            place = min(j, k) * self.size + max(j, k)
            if k != j and place in inverse:
                np.multiply(inverse[place], left, out=spare)
                np.add(out, spare, out=out)
        return out

    def values(self, y: Rows, variance: Rows, left: Imbalance, out: Rows, scratch: Scratch) -> None:
        """Reconciled values of measured and computed streams into the rows of `out`; NaN for unknown ones."""
        mark, spare = scratch.mark(), scratch.spare
        pulls: dict[Terms, Floats] = {}
        for i in self._shown:
            group, sign = self._likes.group[i]
            terms = self._pull[group]
            if not terms:
                np.copyto(out[i], y[i])
                continue
            if terms not in pulls:
                pulls[terms] = _weighed(terms, left.multiplier, scratch)
            np.multiply(variance[i], pulls[terms], out=spare)
            (np.subtract if sign > 0 else np.add)(y[i], spare, out=out[i])
        groups: dict[int, Floats] = {}
        for group in self._summed:
            groups[group] = self._group(group, left, out, pulls, scratch)
        for u, computed in self._computed.items():
            weigh(computed.weights, groups, out[u], spare)
        for u in self.known.unknown:
            out[u].fill(np.nan)
        scratch.back(mark)

    def _group(
        self, group: int, left: Imbalance, out: Rows, pulls: dict[Terms, Floats], scratch: Scratch
    ) -> Floats:
        """The reconciled value of a group of streams that are alike."""
        members, terms = self._likes.members[group], self._pull[group]
        if len(members) == 1 and members[0][0] in self._shown:
            return out[members[0][0]]
        if not terms:
            return left.y[group]
        if terms not in pulls:
            pulls[terms] = _weighed(terms, left.multiplier, scratch)
        adjusted = scratch.take()
        np.multiply(left.variance[group], pulls[terms], out=adjusted)
        return np.subtract(left.y[group], adjusted, out=adjusted)

    def variances(self, variance: Rows, left: Imbalance, out: Rows, scratch: Scratch) -> None:
        """Variances of the reconciled values into the rows of `out`; NaN for unknown ones."""
        mark, spare = scratch.mark(), scratch.spare
        gains: dict[Terms, Floats] = {}
        for i in self._shown:
            terms = self._gain[self._likes.group[i][0]]
            if not terms:
                np.copyto(out[i], variance[i])
                continue
            if terms not in gains:
                gains[terms] = _weighed(terms, left.inverse, scratch)
            np.multiply(variance[i], gains[terms], out=spare)
            np.subtract(_ONE, spare, out=spare)
            np.multiply(variance[i], spare, out=out[i])
        sums: dict[Terms, Floats] = {}
        for u, computed in self._computed.items():
            computed.variance(left, out[u], sums, scratch)
        for u in self.known.unknown:
            out[u].fill(np.nan)
        scratch.back(mark)


@dataclass(frozen=True, slots=True)
class _Computed:
    """A stream without a meter, e·x: its variance is e·S·eᵀ − (e·S·Gᵀ)·V⁻¹·(G·S·eᵀ). Weights are on groups.

    weights  e
    own      a factor, and the weights on variances, that make e·S·eᵀ
    pairs    (place in V⁻¹, weights on variances for its row, for its column, factor) of what is subtracted
    """

    weights: Terms
    own: tuple[float, Terms]
    pairs: tuple[tuple[int, Terms, Terms, float], ...]

    def variance(self, left: Imbalance, out: Floats, sums: dict[Terms, Floats], scratch: Scratch) -> None:
        """`sums` keeps sums of variances that several streams share."""
        for terms in (self.own[1], *(along for _, *both, _ in self.pairs for along in both)):
            if terms not in sums:
                sums[terms] = _weighed(terms, left.variance, scratch)
        spare = scratch.spare
        factor, terms = self.own
        np.multiply(sums[terms], factor, out=out)
        for place, row, column, factor in self.pairs:
            np.multiply(sums[row], sums[column], out=spare)
            np.multiply(spare, left.inverse[place], out=spare)
            if factor != 1.0:
                np.multiply(spare, factor, out=spare)
            np.subtract(out, spare, out=out)


def _weighed(terms: Terms, rows: Rows, scratch: Scratch) -> Floats:
    if len(terms) == 1 and terms[0][1] == 1.0:
        return rows[terms[0][0]]
    out = scratch.take()
    weigh(terms, rows, out, scratch.spare)
    return out


def _scaled(terms: Terms) -> tuple[float, Terms]:
    """A factor and the terms divided by it, so that the first weight is 1."""
    if not terms:
        return 0.0, terms
    factor = terms[0][1]
    return factor, tuple((row, round(weight / factor, 15)) for row, weight in terms)
