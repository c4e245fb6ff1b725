"""Balances over evenly spread stretches, cell by cell: how they wander, and what is left where a meter comes late.

Most of the time no meter makes a step, yet everything wanders a little. A balance of meters that are read at the
same instant doesn't wander along; where one comes late it carries the difference between what that meter reads now
and what it reads so much later, all the time. How much a balance errs besides is taken from what is left of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.around import converts, held, weights_of
from desktop.diagnosis.suspects.case import BEND_SD, SLOPE_SD, Case
from desktop.diagnosis.suspects.course import latest_cells
from desktop.diagnosis.suspects.robust import AT_ONCE, TAILS, losses
from desktop.diagnosis.suspects.rounding import UNIFORM
from desktop.flow.conversion import ASSUMED

Floats = NDArray[np.float64]

UNKNOWN = 10.0
"""The standard deviation, as a share, of a gain that nothing is known of."""

_WINDOW = 2.7
_MOST_MISSING, _MOST_APART = 0.1, 2
_LEAST_SHARE, _LEAST_SD, _TO_SD = 1e-3, 0.5, 1.4826
_MOST_ALIKE, _FAR = 0.95, 4.0
_COUNTED, _ROUNDS = 160.0, 5


@dataclass(frozen=True, slots=True, eq=False)
class Wander:
    """One balance. n cells in w windows, in each of which it may lie anywhere; J meters, u of them in it.

    used, weights   (u,) rows of its meters, and how they enter
    ahead    (u, s + 1, n) W, what each reads now and up to s cells later
    loss     (3, n) what the converter may lose besides: while charging, while inverting, by the square
    assumed  (n,) W, what it should lose
    sizes    (w,) cells in each window
    prior    (u + 3,) how well gains and loss are known
    least    W, less than this it doesn't err
    sigma    (n,) W, one standard deviation of what it errs
    counted  how much a cell counts, as the errors of neighbours are alike
    """

    used: NDArray[np.intp]
    weights: Floats
    ahead: Floats
    loss: Floats
    assumed: Floats
    sizes: NDArray[np.intp]
    prior: Floats
    least: float
    sigma: Floats
    counted: float = 1.0

    @property
    def reads(self) -> Floats:
        """(u, n) W, what each meter reads."""
        now: Floats = self.ahead[:, 0]
        return now

    def costs(self, left: Floats) -> Floats:
        """(w,) what is left (n,) costs in each window: half of minus two log-likelihoods."""
        rows = losses(left / self.sigma)
        found: Floats = self.counted * np.add.reduceat(rows, self._starts)
        return found

    def left(self, reads: Floats, free: int = -1, besides: Floats | None = None) -> Floats:
        """(n,) W, what is left of the balance of these readings (u, n) by the gains that fit them best.

        free      row of a meter whose gain isn't known at all
        besides   (n,) W, something in proportion to which it may run
        """
        return self._fit(reads, free, besides)[0]

    def late(self, row: int, cells: int) -> Floats:
        """(u, n) readings where one meter's are taken so many cells later."""
        reads = self.reads.copy()
        mine = self.used == row
        reads[mine] = self.ahead[mine, cells]
        return reads

    def exchanged(self, one: int, other: int) -> Floats | None:
        """(u, n) readings where those of two meters are exchanged; None where it makes no difference."""
        pair = np.flatnonzero((self.used == one) | (self.used == other))
        if len(pair) < 2 or self.weights[pair[0]] == self.weights[pair[1]]:
            return None
        reads = self.reads.copy()
        reads[pair] = reads[pair[::-1]]
        return reads

    def later(self, row: int, cells: int) -> Floats | None:
        """(n,) W, how a meter enters so many cells later; None where it isn't in this balance."""
        mine = np.flatnonzero(self.used == row)
        return self.weights[mine[0]] * self.ahead[mine[0], cells] if len(mine) else None

    def better(self, meters: int) -> Floats:
        """(J, s + 1) by how much it's likelier, about, with a meter's readings taken 0 to s cells later."""
        left, pull, covariance, design = self._fit(self.reads, -1, None)
        found = np.zeros((meters, self.ahead.shape[1]))
        for place, row in enumerate(self.used.tolist()):
            moved = self._centred(self.weights[place] * (self.ahead[place] - self.reads[place]), pull)
            along = products(design * pull, moved)
            shared = self._share * (along * (covariance @ along)).sum(axis=0)
            found[row] = self.counted * (shared / 2 - products(moved * (left + moved / 2), pull[None])[:, 0])
        return found

    def erring(self, left: Floats) -> Wander:
        """The same, where what is left (n,) is how it errs."""
        windows = np.split(left, self._starts[1:])
        spread = np.array([_TO_SD * np.median(np.abs(each)) for each in windows])
        sigma = np.repeat(np.maximum(spread, self.least), self.sizes)
        z = np.clip(left / sigma, -_FAR, _FAR)
        inside = np.ones(len(z) - 1, np.bool_)
        inside[self._starts[1:] - 1] = False
        alike = float((z[1:] * z[:-1])[inside].mean() / max(float((z**2).mean()), 1e-9))
        alike = min(max(alike, 0.0), _MOST_ALIKE)
        return replace(self, sigma=sigma, counted=(1 - alike) / (1 + alike))

    @property
    def _starts(self) -> NDArray[np.intp]:
        return np.cumsum(self.sizes) - self.sizes

    @property
    def _share(self) -> float:
        """How much a cell counts beside what is known of gains: all of them err alike."""
        return min(1.0, _COUNTED / len(self.sigma))

    def _fit(self, reads: Floats, free: int, besides: Floats | None) -> tuple[Floats, Floats, Floats, Floats]:
        """What is left (n,), how much each cell pulls (n,), covariance (p, p), and centred columns (p, n)."""
        prior = self.prior.copy()
        prior[:-3][self.used == free] = UNKNOWN
        columns = np.concatenate((reads * self.weights[:, None], self.loss))
        if besides is not None:
            columns, prior = np.vstack((columns, besides)), np.append(prior, UNKNOWN)
        y = self.weights @ reads - self.assumed
        pull = self.sigma**-2.0
        for _ in range(_ROUNDS):
            centred, off = self._centred(columns, pull), self._centred(y, pull)
            pulled = centred * pull
            normal = self._share * products(pulled, centred) + np.diag(prior**-2.0)
            covariance = np.asarray(np.linalg.inv(normal), np.float64)
            left = off - self._share * (covariance @ products(pulled, off[None])[:, 0]) @ centred
            z = left / self.sigma
            pull = (TAILS + 1) / (TAILS + z * z) / self.sigma**2
        return left, pull, covariance, centred

    def _centred(self, values: Floats, pull: Floats) -> Floats:
        """Values (..., n) without their mean in each window."""
        mean = np.add.reduceat(values * pull, self._starts, axis=-1) / np.add.reduceat(pull, self._starts)
        centred: Floats = values - np.repeat(mean, self.sizes, axis=-1)
        return centred


def products(one: Floats, other: Floats) -> Floats:
    """(p, q) sums of products of rows (p, n) and (q, n); in parts, as threads would wait for each other."""
    found = np.zeros((len(one), len(other)))
    at_once = max(1, AT_ONCE // found.size)
    for start in range(0, one.shape[1], at_once):
        part = slice(start, start + at_once)
        found += one[:, part] @ other[:, part].T
    return found


def wanders(case: Case) -> list[Wander]:
    """Every balance that can be reckoned row by row, where there is enough of it."""
    stretches = list(_stretches(case))
    weights = [each for _, each in weights_of(case.snapshot, case.network)]
    return [found for each in weights if (found := _wander(case, stretches, each)) is not None]


def _stretches(case: Case) -> Iterator[Floats]:
    """(J, n) each stretch of cells without a gap; NaN where a cell isn't there."""
    snapshot = case.snapshot
    number = snapshot.course_time // round(snapshot.course_s * 1e9)
    for part in np.split(np.arange(len(number)), np.flatnonzero(np.diff(number) > _MOST_APART) + 1):
        if len(part):
            rows = np.full((len(case.meters), int(number[part[-1]] - number[part[0]]) + 1), np.nan)
            rows[:, number[part] - number[part[0]]] = snapshot.course[:, part]
            yield rows


def _wander(case: Case, stretches: list[Floats], weights: Floats) -> Wander | None:
    used = np.flatnonzero(weights)
    latest = latest_cells(case.snapshot.interval_s)
    ahead, through, sizes = [], [], []
    for rows in stretches:
        finite = np.isfinite(rows[used])
        filled, _ = held(rows)
        for begin, end in _windows(rows.shape[1] - latest, round(_WINDOW * latest)):
            span = slice(begin, end + latest)
            share = finite[:, span].mean(axis=1).min()
            if share < 1 - _MOST_MISSING or not np.isfinite(filled[used, begin]).all():
                continue
            ahead.append(np.lib.stride_tricks.sliding_window_view(filled[used, span], end - begin, axis=1))
            through.append(np.nan_to_num(case.through(filled[:, begin:end])))
            sizes.append(end - begin)
    if not sizes:
        return None
    feed = np.concatenate(through) * float(converts(case, used))
    size = np.abs(feed)
    floor = np.array([max(case.meters[row].floor_w, 1.0) for row in used])
    share = np.maximum([case.meters[row].percent / 100 for row in used], _LEAST_SHARE)
    rows_each = max(1.0, case.snapshot.course_s / case.snapshot.interval_s)
    err, told = float((floor**2).sum() / rows_each), float(((UNIFORM * case.quantum[used]) ** 2).sum())
    return Wander(
        used=used,
        weights=weights[used],
        ahead=np.concatenate(ahead, axis=2),
        loss=np.stack((np.maximum(feed, 0), np.maximum(-feed, 0), size**2 / max(float(size.max()), 1.0))),
        assumed=ASSUMED.slope * size,
        sizes=np.array(sizes),
        prior=np.concatenate((share, (SLOPE_SD, SLOPE_SD, BEND_SD))),
        least=float(np.sqrt(_LEAST_SD**2 * err + told)),
        sigma=np.full(len(size), float(np.sqrt(err + told))),
    )


def _windows(count: int, length: int) -> Iterator[tuple[int, int]]:
    """Begin and end of windows of about this length, evenly cut; none where there isn't half of one."""
    if count < length // 2:
        return
    ends = np.linspace(0, count, max(1, round(count / length)) + 1).round().astype(int).tolist()
    yield from pairwise(ends)
