"""Streams that can't be negative: the exact bounded least squares by an active set, many rows at once.

A stream that is held at zero is taken out of the network, and the rest is reconciled without it. The right set
of held streams is the one for which no stream is negative and no held stream would rather be positive
(Karush-Kuhn-Tucker). Sets are changed by block pivots (Júdice and Pires 1994, Comput. Oper. Res. 21:587); the
few rows that don't settle so are settled by trying every set.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from desktop.flow.forms import Rows, Scratch
from desktop.flow.least_squares import LeastSquares
from desktop.flow.observability import Observability

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]

_PIVOTS = 8
_ROUNDING = 1e-11


class NonNegative:
    """The bounded solution for one pattern of meters.

    network   (r, size) balances
    bounded   streams that can't be negative; unobservable ones among them bear no bound
    """

    def __init__(self, network: Floats, known: Observability, bounded: Sequence[int]) -> None:
        self._network = network
        self._known = known
        self.bounded = [i for i in bounded if i in known.measured or i in known.computed]
        self._unmeasured = [*known.computed, *known.unknown]
        self._solutions: dict[int, LeastSquares] = {}
        self._scratch = Scratch()

    def below(self, x: Rows) -> Indices:
        """The columns of x (a row per stream) in which a stream is negative that can't be."""
        low = [x[i] < 0 for i in self.bounded if x[i].min(initial=0.0) < 0]
        if not low:
            return np.empty(0, np.intp)
        return np.flatnonzero(low[0] if len(low) == 1 else np.logical_or.reduce(low))

    def settle(self, y: dict[int, Floats], variance: dict[int, Floats], x: dict[int, Floats]) -> None:
        """Replace the solution without bounds by the one with bounds.

        y, variance  (n,) per measured stream
        x            (n,) per measured and per computed stream; replaced
        """
        rows = len(next(iter(x.values())))
        held = np.zeros(rows, np.int64)
        for bit, i in enumerate(self.bounded):
            held |= (x[i] < 0).astype(np.int64) << bit
        todo = np.arange(rows)
        for _ in range(_PIVOTS):
            wrong = np.zeros(todo.size, np.int64)
            for code in np.unique(held[todo]).tolist():
                at = np.flatnonzero(held[todo] == code)
                part = slice(None) if at.size == rows else todo[at]
                wrong[at] = self._replace(code, part, y, variance, x)
            held[todo] ^= wrong
            todo = todo[wrong != 0]
            if not todo.size:
                return
        self._try_all(todo, y, variance, x)

    def _replace(
        self,
        code: int,
        rows: Indices | slice,
        y: dict[int, Floats],
        variance: dict[int, Floats],
        x: dict[int, Floats],
    ) -> NDArray[np.int64]:
        """Solve with the streams of a set held at zero; says, bit by bit, where they are the wrong ones."""
        readings = {i: row[rows] for i, row in y.items()}
        spreads = {i: row[rows] for i, row in variance.items()}
        part, prices = self._solved(code, readings, spreads)
        wrong = self._wrong(code, part, prices, readings, spreads)
        for i, row in part.items():
            x[i][rows] = np.maximum(row, 0.0, out=row) if i in self.bounded else row
        return wrong

    def _solution(self, code: int) -> LeastSquares:
        if code not in self._solutions:
            held = {stream for bit, stream in enumerate(self.bounded) if code >> bit & 1}
            self._solutions[code] = LeastSquares(
                Observability.of(
                    self._network,
                    [i for i in self._known.measured if i not in held],
                    [i for i in self._unmeasured if i not in held],
                )
            )
        return self._solutions[code]

    def _solved(self, code: int, y: Rows, variance: Rows) -> tuple[dict[int, Floats], list[Floats]]:
        """Values with the streams of a set held at zero, and the multipliers of the constraints."""
        solution, rows = self._solution(code), len(y[self._known.measured[0]])
        self._scratch.begin(rows)
        x = {i: np.zeros(rows) for i in range(self._known.size)}
        left = solution.imbalance(y, variance, self._scratch)
        solution.values(y, variance, left, x, self._scratch)
        return {i: x[i] for i in (*self._known.measured, *self._known.computed)}, left.multiplier

    def _wrong(
        self, code: int, x: Rows, multipliers: list[Floats], y: dict[int, Floats], variance: Rows
    ) -> NDArray[np.int64]:
        """The bits of free streams that are negative, and of held ones that would rather be positive."""
        slack = self._slack(y)
        prices = self._solution(code).known.combination @ self._network
        wrong = np.zeros(len(slack), np.int64)
        for bit, stream in enumerate(self.bounded):
            if not code >> bit & 1:
                wrong |= (x[stream] < -slack).astype(np.int64) << bit
                continue
            price = np.zeros(len(slack))
            for row, multiplier in zip(prices, multipliers, strict=True):
                if row[stream]:
                    price += row[stream] * multiplier
            # Stationarity: a measured stream left free would come to stand at y − variance·price.
            rather = y[stream] - variance[stream] * price > slack if stream in y else price < -_ROUNDING
            wrong |= rather.astype(np.int64) << bit
        return wrong

    @staticmethod
    def _slack(y: dict[int, Floats]) -> Floats:
        total = np.full(len(next(iter(y.values()))), 1.0)
        for row in y.values():
            total += np.abs(row)
        total *= _ROUNDING
        return total

    def _try_all(
        self, rows: Indices, y: dict[int, Floats], variance: dict[int, Floats], x: dict[int, Floats]
    ) -> None:
        readings, spreads = ({i: row[rows] for i, row in table.items()} for table in (y, variance))
        slack, least = self._slack(readings), np.full(rows.size, np.inf)
        for code in range(2 ** len(self.bounded)):
            part, _ = self._solved(code, readings, spreads)
            cost = np.zeros(rows.size)
            for i, row in readings.items():
                cost += (part[i] - row) ** 2 / spreads[i]
            for i in self.bounded:
                cost[part[i] < -slack] = np.inf
            better = cost < least
            least[better] = cost[better]
            for i, row in part.items():
                x[i][rows[better]] = np.maximum(row, 0.0)[better] if i in self.bounded else row[better]
