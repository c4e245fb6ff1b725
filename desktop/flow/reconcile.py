"""Reconciliation: the most probable powers that balance, given what the meters say and how good they are."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.flow.balance import PlantBalance, direction
from desktop.flow.conversion import Conversion
from desktop.flow.forms import Scratch, Terms, weigh
from desktop.flow.network import LAW, Network
from desktop.flow.observability import Knowledge
from desktop.flow.streams import GAPS, INDEX, STREAMS

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]


@dataclass(slots=True)
class Reconciled:
    """Powers that balance, W; columns are rows of the recording.

    value           (10, n) NaN where unobservable, 0 where the plant has no such stream
    sd              (10, n) one standard deviation of `value`. It is that of the solution without bounds also
                    where a stream is held at zero
    unaccounted     (3, n) what the readings leave over at each place of GAPS; NaN where not known
    unaccounted_sd  (3, n)
    chi2            (n,) the global test, of the solution without bounds: only that one follows χ²
    dof             (n,) its degrees of freedom; where 0, chi2 is 0
    """

    value: Floats
    sd: Floats
    unaccounted: Floats
    unaccounted_sd: Floats
    chi2: Floats
    dof: NDArray[np.int8]

    @classmethod
    def empty(cls, rows: int) -> Reconciled:
        """Room for so many rows, with undefined content."""
        streams, gaps = len(STREAMS), len(GAPS)
        return cls(
            np.empty((streams, rows)),
            np.empty((streams, rows)),
            np.empty((gaps, rows)),
            np.empty((gaps, rows)),
            np.empty(rows),
            np.empty(rows, np.int8),
        )

    def part(self, rows: slice) -> Reconciled:
        """Some of the rows, sharing memory."""
        return Reconciled(
            self.value[:, rows],
            self.sd[:, rows],
            self.unaccounted[:, rows],
            self.unaccounted_sd[:, rows],
            self.chi2[rows],
            self.dof[rows],
        )

    def put(self, rows: Indices, part: Reconciled) -> None:
        """Write `part` into these rows."""
        self.value[:, rows] = part.value
        self.sd[:, rows] = part.sd
        self.unaccounted[:, rows] = part.unaccounted
        self.unaccounted_sd[:, rows] = part.unaccounted_sd
        self.chi2[rows] = part.chi2
        self.dof[rows] = part.dof


def reconcile(measured: Floats, sd: Floats, network: Network, conversion: Conversion) -> Reconciled:
    """Reconcile rows of a plant.

    measured  (10, n) readings per stream of STREAMS, W; NaN where there is none. That of "loss" is ignored:
              the conversion law stands for it
    sd        (10, n) their standard deviations, W, above zero
    """
    measured, sd = np.ascontiguousarray(measured, float), np.ascontiguousarray(sd, float)
    out = Reconciled.empty(measured.shape[1])
    Reconciler(network, conversion).run(measured, sd * sd, out)
    return out


class Reconciler:
    """Reconciles rows of one plant, and keeps what it has worked out per pattern of meters."""

    def __init__(self, network: Network, conversion: Conversion) -> None:
        self.network = network
        self.conversion = conversion
        self._streams = [INDEX[name] for name in network.present if name != "loss"]
        self._balances: dict[tuple[int, bool], PlantBalance] = {}
        self._directions: dict[int, tuple[Terms, int]] = {}
        self._scratch = Scratch()
        self._group_scratch = Scratch()

    def run(self, measured: Floats, variance: Floats, out: Reconciled, whole: Collection[int] = ()) -> None:
        """Reconcile rows: measured and variance (10, n), W and W²; the result goes into `out`.

        whole  streams that are known to have every reading
        """
        if not measured.shape[1]:
            return
        silent = [i for i in self._streams if i not in whole and np.isnan(measured[i]).any()]
        always = sum(1 << i for i in self._streams if i not in silent)
        mixed = [i for i in silent if not np.isnan(measured[i]).all()]
        if not mixed:
            self._pattern(always, list(measured), list(variance), out)
            return
        codes = np.full(measured.shape[1], always)
        for i in mixed:
            codes |= np.isfinite(measured[i]).astype(np.int64) << i
        for code in np.unique(codes).tolist():
            rows = np.flatnonzero(codes == code)
            part = Reconciled.empty(len(rows))
            self._pattern(code, list(measured[:, rows]), list(variance[:, rows]), part)
            out.put(rows, part)

    def knowledge(self, measured: Floats) -> dict[str, Knowledge]:
        """What is known of each stream in a row whose readings are these (10,)."""
        code = sum(1 << i for i in self._streams if np.isfinite(measured[i]))
        known = self.balance(code, True).squares.known
        return {name: known.knowledge(i) for i, name in enumerate(STREAMS)}

    def balance(self, code: int, charging: bool) -> PlantBalance:
        """What a pattern of meters allows: bit i of `code` stands for a reading of stream i."""
        key = (code, charging)
        if key not in self._balances:
            metered = frozenset(i for i in self._streams if code >> i & 1)
            self._balances[key] = PlantBalance.of(self.network, self.conversion, metered, charging=charging)
        return self._balances[key]

    def _direction(self, code: int) -> tuple[Terms, int]:
        if code not in self._directions:
            metered = frozenset(i for i in self._streams if code >> i & 1)
            self._directions[code] = direction(self.network, metered)
        return self._directions[code]

    def _pattern(self, code: int, y: list[Floats], variance: list[Floats], out: Reconciled) -> None:
        """Rows that have the same meters: those in which the AC side feeds the converter, and the others."""
        self._scratch.begin(len(y[0]))
        terms, witnesses = self._direction(code)
        through, law, spread = (self._scratch.take() for _ in range(3))
        weigh(terms, y, through, law)
        law.fill(self.conversion.idle_w)
        np.multiply(through, self.conversion.slope_sd / witnesses, out=spread)
        np.multiply(spread, spread, out=spread)
        np.add(spread, self.conversion.idle_sd_w**2, out=spread)
        y, variance = [*y, law], [*variance, spread]
        if through.min() >= 0 or not terms:
            self._solve(self.balance(code, True), y, variance, out, self._scratch)
        elif through.max() < 0:
            self._solve(self.balance(code, False), y, variance, out, self._scratch)
        else:
            charging = through >= 0
            for way in (True, False):
                rows = np.flatnonzero(charging == way)
                part = Reconciled.empty(len(rows))
                readings, spreads = [row[rows] for row in y], [row[rows] for row in variance]
                self._group_scratch.begin(len(rows))
                self._solve(self.balance(code, way), readings, spreads, part, self._group_scratch)
                out.put(rows, part)

    @staticmethod
    def _solve(
        balance: PlantBalance, y: list[Floats], variance: list[Floats], out: Reconciled, scratch: Scratch
    ) -> None:
        squares = balance.squares
        left = squares.imbalance(y, variance, scratch)
        left.chi2(out.chi2, scratch.spare)
        out.dof.fill(squares.size)
        # The law's own adjustment is asked for only where a stream is held at zero.
        value, sd = [*out.value, scratch.take()], list(out.sd)
        squares.values(y, variance, left, value, scratch)
        squares.variances(variance, left, sd, scratch)
        _hold(balance, y, variance, value)
        for i in (*squares.known.measured, *squares.known.computed):
            if i != LAW:
                np.sqrt(sd[i], out=sd[i])
        for i in balance.absent:
            value[i].fill(0.0)
            sd[i].fill(0.0)
        for place in range(len(GAPS)):
            if place in balance.places:
                number = balance.places[place]
                np.copyto(out.unaccounted[place], left.residual[number])
                np.sqrt(left.covariance[number * (squares.size + 1)], out=out.unaccounted_sd[place])
            else:
                out.unaccounted[place].fill(np.nan)
                out.unaccounted_sd[place].fill(np.nan)


def _hold(balance: PlantBalance, y: list[Floats], variance: list[Floats], value: list[Floats]) -> None:
    """Hold streams at zero where they would be negative and can't."""
    rows = balance.bounds.below(value)
    if not rows.size:
        return
    known = balance.squares.known
    x = {i: value[i][rows] for i in (*known.measured, *known.computed)}
    balance.bounds.settle(
        {i: y[i][rows] for i in known.measured}, {i: variance[i][rows] for i in known.measured}, x
    )
    for i, settled in x.items():
        value[i][rows] = settled
