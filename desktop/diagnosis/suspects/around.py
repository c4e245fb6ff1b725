"""What balances do around steps, row by row, and how far healthy meters let them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.balances import primary
from desktop.diagnosis.suspects.book import Snapshot
from desktop.diagnosis.suspects.case import SCATTER, SLOPE_SD, Case
from desktop.diagnosis.suspects.robust import TAILS, losses
from desktop.diagnosis.suspects.rounding import UNIFORM
from desktop.diagnosis.suspects.steps import Step, latest_rows
from desktop.flow.conversion import ASSUMED
from desktop.flow.network import Network
from desktop.flow.streams import BALANCE, BUSES, INDEX, STREAMS

Floats = NDArray[np.float64]

SKEW_S = 5.0
"""So far apart healthy meters may be read."""

COUNTED = 20.0
"""Rows around a step that are believed to err by themselves."""

_MOST = 48
_UNREST = 1.0
_MOVES = 4.0
_MOST_MISSING = 0.1
_ROUNDS = 6
_LEAST = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Around:
    """One balance around one step. k rows are looked at, of n; those behind are what a late reading tells of them.

    time       (k,) UTC nanoseconds
    rows       (J, n) W as read; 0 where a meter isn't
    weights    (J,) of the meters in the balance
    kept       k
    imbalance  (k,) W
    sigma      (k,) W, one standard deviation where all meters are healthy
    cost       half of minus two log-likelihoods of that
    moves      (J,) which meters in the balance move
    """

    time: NDArray[np.int64]
    rows: Floats
    weights: Floats
    kept: int
    imbalance: Floats
    sigma: Floats
    cost: float
    moves: NDArray[np.bool_]

    @property
    def counted(self) -> float:
        """How much a row counts."""
        return min(1.0, COUNTED / self.kept)

    @property
    def unrest(self) -> float:
        """What it costs above what is usual."""
        return max(0.0, self.cost - 0.5 * self.counted * self.kept)

    def overlaps(self, other: Around) -> bool:
        """Whether the other tells the same again: by the same meters, and half of it at the same time."""
        near = abs(int(self.time[0] - other.time[0])) <= int(self.time[-1] - self.time[0]) // 2
        return near and bool(np.array_equal(self.weights, other.weights))

    def costs(self, imbalance: Floats) -> Floats:
        """(s,) of other imbalances (s, k). Each may lie anywhere: where it mostly is, or where it is at first."""
        return self.counted * _least(imbalance, self.sigma)


def _least(imbalance: Floats, sigma: Floats) -> Floats:
    middle = np.median(imbalance, axis=1, keepdims=True)
    first = np.median(imbalance[:, : imbalance.shape[1] // 2], axis=1, keepdims=True)
    least: Floats = np.minimum(
        losses((imbalance - middle) / sigma).sum(axis=1), losses((imbalance - first) / sigma).sum(axis=1)
    )
    return least


def arounds(case: Case) -> list[Around]:
    """The balances around steps that stray the most, at most so many, none of them twice."""
    weights = [each for _, each in weights_of(case.snapshot, case.network)]
    found = [each for step in case.snapshot.steps for each in _around(case, step, weights)]
    picked: list[Around] = []
    for each in sorted(found, key=lambda each: -each.unrest):
        if len(picked) < _MOST and not any(each.overlaps(other) for other in picked):
            picked.append(each)
    return picked


def weights_of(snapshot: Snapshot, network: Network) -> list[tuple[tuple[str, ...], Floats]]:
    """Buses and (J,) weights of the balances that can be reckoned row by row, for meters that are read."""
    telling = primary(snapshot.meters)
    found: list[tuple[tuple[str, ...], Floats]] = []
    groups = ((0,), (1,), (2,), (0, 1), (1, 2), (0, 1, 2)) if network.has("loss") else ((0,),)
    for group in groups:
        total = BALANCE[list(group)].sum(axis=0)[:-1]
        streams = [row for row in np.flatnonzero(total) if network.has(STREAMS[row])]
        inner = [
            INDEX[name]
            for name, pair in (("converter_ac", {0, 1}), ("converter_dc", {1, 2}))
            if pair <= set(group)
        ]
        if any(STREAMS[row] in telling for row in inner) or any(
            STREAMS[row] not in telling for row in streams
        ):
            continue
        weights = np.zeros(len(snapshot.meters))
        for row in streams:
            weights[telling[STREAMS[row]]] = total[row]
        if np.count_nonzero(weights) > 1:
            found.append((tuple(BUSES[row] for row in group), weights))
    return found


def _around(case: Case, step: Step, balances: list[Floats]) -> list[Around]:
    interval_s = case.snapshot.interval_s
    gaps = np.diff(step.time) / 1e9
    if gaps.max() > 1.5 * interval_s or gaps.min() < 0.5 * interval_s:
        return []
    rows, known = held(step.rows.astype(np.float64))
    kept = rows.shape[1] - latest_rows(interval_s)
    loss, doubt = _loss(case, rows[:, :kept])
    variance = _variances(case, rows, kept)
    span = np.ptp(rows, axis=1)
    moves = span > _MOVES * np.array([_own_sd(case, row, span[row]) for row in range(len(rows))])
    rows[~known] = 0.0
    found = []
    for weights in balances:
        used = np.flatnonzero(weights)
        if not known[used].all():
            continue
        losing = converts(case, used)
        imbalance = weights[used] @ rows[used, :kept] - (loss if losing else 0.0)
        sigma = np.sqrt(variance[used].sum(axis=0) + (doubt**2 if losing else 0.0))
        cost = min(1.0, COUNTED / kept) * float(_least(imbalance[None], sigma)[0])
        found.append(
            Around(step.time[:kept], rows, weights, kept, imbalance, sigma, cost, moves & (weights != 0))
        )
    return found


def converts(case: Case, used: NDArray[np.intp]) -> bool:
    """True for a balance that the converter's loss is in: it has meters on both sides of it."""
    sides = {_SIDE[case.meters[row].stream] for row in used.tolist()}
    return len(sides) > 1


_SIDE = {
    "generator": "ac",
    "grid": "ac",
    "solar_ac": "ac",
    "load": "ac",
    "converter_ac": "ac",
    "converter_dc": "dc",
    "solar": "dc",
    "battery": "dc",
    "dc_load": "dc",
}


def held(rows: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """(J, n) the last reading where one is missing; (J,) whether enough are there."""
    finite = np.isfinite(rows)
    last = np.maximum.accumulate(np.where(finite, np.arange(rows.shape[1]), 0), axis=1)
    held = np.take_along_axis(rows, last, axis=1)
    return held, np.isfinite(held).all(axis=1) & (finite.mean(axis=1) >= 1 - _MOST_MISSING)


def _own_sd(case: Case, row: int, power: float) -> float:
    meter = case.meters[row]
    told = UNIFORM * float(case.quantum[row])
    return float(np.hypot(max(meter.floor_w, 1.0), told)) + meter.percent / 100 * power


def _loss(case: Case, rows: Floats) -> tuple[Floats, Floats]:
    """(k,) W that the converter should lose, and how far its changes may be off."""
    feed = np.abs(np.nan_to_num(case.through(rows)))
    return ASSUMED.slope * feed, SLOPE_SD * np.abs(feed - np.median(feed))


def _variances(case: Case, rows: Floats, kept: int) -> Floats:
    """(J, k) W²: of noise, of rounding, of gains within their class for what moves, and of skew."""
    interval_s = case.snapshot.interval_s
    share = np.array([meter.percent / 100 for meter in case.meters])[:, None]
    floor = np.array([max(meter.floor_w, 1.0) for meter in case.meters])
    own = np.hypot(floor, UNIFORM * case.quantum)[:, None]
    read = rows[:, :kept]
    moved = np.abs(read - np.median(read, axis=1, keepdims=True))
    change = np.abs(np.diff(rows[:, : kept + 1], axis=1, prepend=rows[:, :1]))
    near = np.maximum(change[:, :-1], change[:, 1:])
    for _ in range(min(int(SKEW_S / interval_s), _ROUNDS) - 1):
        near[:, 1:-1] = np.maximum(near[:, 1:-1], np.maximum(near[:, 2:], near[:, :-2]))
    near *= min(1.0, SKEW_S / interval_s) ** 0.5
    variances: Floats = own**2 + (SCATTER * share * read) ** 2 + (share * moved) ** 2 + near**2
    return variances


def with_gains(around: list[Around], prior_sd: Floats) -> Floats:
    """(a,) half of minus two log-likelihoods of each, with the gains of the meters that explain all of them best.

    prior_sd (J,) how well gains are known; infinite for not at all
    """
    gains: Floats = np.zeros(len(prior_sd))
    parts = [each.rows[:, : each.kept].T * each.weights for each in around]
    for _ in range(_ROUNDS):
        normal, right = np.diag(prior_sd**-2.0 + _LEAST), np.zeros(len(prior_sd))
        for each, part in zip(around, parts, strict=True):
            left = each.imbalance - part @ gains
            z = (left - np.median(left)) / each.sigma
            pull = each.counted * (TAILS + 1) / (TAILS + z * z) / each.sigma**2
            off = part - (pull @ part) / pull.sum()
            normal += (off * pull[:, None]).T @ off
            right += off.T @ (pull * each.imbalance)
        gains = np.asarray(np.linalg.solve(normal, right), np.float64)
    return np.array(
        [
            float(each.costs((each.imbalance - part @ gains)[None])[0])
            for each, part in zip(around, parts, strict=True)
        ]
    )


def moved_back(around: list[Around], row: int, shift: int) -> list[Around]:
    """The same with the readings of a meter taken so many rows later."""
    found = []
    for each in around:
        moved = each.rows[row, shift : shift + each.kept]
        rows = each.rows[:, : each.kept].copy()
        imbalance = each.imbalance + each.weights[row] * (moved - rows[row])
        rows[row] = moved
        found.append(replace(each, rows=rows, imbalance=imbalance))
    return found


def with_exchange(each: Around, one: int, other: int) -> Around:
    """The same with the readings of two meters exchanged; itself where it makes no difference."""
    weights = each.weights
    if weights[one] == weights[other]:
        return each
    order = np.arange(len(weights))
    order[[one, other]] = other, one
    rows = each.rows[order]
    imbalance = each.imbalance + weights @ (rows - each.rows)[:, : each.kept]
    return replace(each, rows=rows, imbalance=imbalance)
