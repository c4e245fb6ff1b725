"""Running time integrals of many series at once: the trapezoid between rows, and the time it covers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Sums:
    """Sums of k quantities to which terms are added one after another without losing their last digits.

    The error doesn't grow with the number of terms (Neumaier 1974), so that a sum of a million single rows
    equals the sum of the whole.
    """

    def __init__(self, quantities: int) -> None:
        self._sum = np.zeros(quantities)
        self._lost = np.zeros(quantities)

    def add(self, terms: Floats) -> None:
        """Add (k,) finite terms."""
        total = self._sum + terms
        larger = np.abs(self._sum) >= np.abs(terms)
        self._lost += np.where(larger, (self._sum - total) + terms, (terms - total) + self._sum)
        self._sum = total

    @property
    def total(self) -> Floats:
        """(k,) the sums so far."""
        return self._sum + self._lost


@dataclass(frozen=True, slots=True)
class Steps:
    """The steps before consecutive rows, s; 0 where a step is not bridged.

    weights  (n,) what each row's value counts for in the trapezoids between these rows and of the first step
    whole    the sum of the steps
    """

    bridged: Floats
    weights: Floats
    whole: float

    @classmethod
    def of(cls, bridged: Floats) -> Steps:
        """bridged  (n,)"""
        weights = bridged.copy()
        weights[:-1] += bridged[1:]
        weights *= 0.5
        return cls(bridged, weights, float(bridged.sum()))


class Integrals:
    """Integrals over time of k series whose rows arrive block by block, in order.

    Each step is a trapezoid between two neighbouring rows. A step counts for a series only where both of its
    ends are finite; `known_s` tells how long that was. A step that is not bridged counts for none.
    """

    def __init__(self, series: int) -> None:
        self._series = series
        self._sums = Sums(2 * series)
        self._last: Floats = np.full(series, np.nan)

    def add(self, parts: Sequence[Floats], steps: Steps) -> None:
        """Add rows.

        parts  arrays of (…, n) that together hold the k series
        steps  before each of the n rows
        """
        if not steps.bridged.size:
            return
        terms = np.empty(2 * self._series)
        sums, known = terms[: self._series], terms[self._series :]
        np.concatenate([part @ steps.weights for part in parts], out=sums)
        first = steps.bridged[0]
        if first > 0:
            sums += self._last * (0.5 * first)
        known[:] = steps.whole
        torn = ~np.isfinite(sums)
        if torn.any():
            self._patch(parts, steps, torn, sums, known)
        self._sums.add(terms)
        self._last = np.concatenate([part[:, -1] for part in parts])

    def _patch(
        self, parts: Sequence[Floats], steps: Steps, torn: NDArray[np.bool_], sums: Floats, known: Floats
    ) -> None:
        """Count again, step by step, the series that have holes."""
        start = 0
        for part in parts:
            here = torn[start : start + len(part)]
            if here.any():
                rows = start + np.flatnonzero(here)
                sums[rows], known[rows] = 0.0, 0.0
                told = [row for row in rows.tolist() if not np.isnan(part[row - start]).all()]
                if told:
                    values = np.column_stack((self._last[told], part[[row - start for row in told]]))
                    sums[told], known[told] = _with_holes(values, steps.bridged)
            start += len(part)

    @property
    def total(self) -> Floats:
        """(k,) integrals in the series' unit times seconds; NaN where a series was never known."""
        return np.where(self.known_s > 0, self._sums.total[: self._series], np.nan)

    @property
    def known_s(self) -> Floats:
        """(k,) seconds that the integrals cover."""
        return self._sums.total[self._series :]


def _with_holes(values: Floats, steps: Floats) -> tuple[Floats, Floats]:
    """(k,) integrals and known time of (k, n + 1) values with n steps between them."""
    finite = np.isfinite(values)
    whole = finite[:, 1:] & finite[:, :-1]
    counted = np.where(whole, steps, 0.0)
    filled = np.where(finite, values, 0.0)
    doubled = np.einsum("ij,ij->i", counted, filled[:, 1:] + filled[:, :-1])
    return 0.5 * doubled, counted.sum(axis=1)
