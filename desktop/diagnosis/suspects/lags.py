"""Readings that come late: found in what happens around steps.

Where everything is read at the same instant, an imbalance moves only as much as the meters' classes, the doubt
about the converter's loss and a little skew allow. A meter that comes late leaves a pulse beside each of its steps,
as long as it is late; shifted back by as much the pulses are gone, and by any other shift of any other meter they
aren't. Both are compared by their likelihoods; so is that gains are wrong, whose imbalance has steps but no pulses.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.around import Around, arounds, moved_back, with_exchange, with_gains
from desktop.diagnosis.suspects.case import Case
from desktop.diagnosis.suspects.steps import latest_rows

Floats = NDArray[np.float64]
Shifts = NDArray[np.int64]

LEAST_LAG_S, LEAST_LAG_ROWS = 5.0, 2
"""Less than this is how far apart healthy meters are read."""

BEYOND, MOST_PER_STEP = 15.0, 8.0
"""By so much a lag must explain steps better than healthy meters; and as how much one of them counts at most:
a start and a stop can be enough, one of them never."""

APART = 6.0
"""Lags of other meters that explain them better by less than this can't be told apart."""

WITHIN, MOST_LEFT = 0.8, 0.5
"""The latest that is believed, as a share of the latest that is tried: what may as well be later doesn't come late
but moves otherwise; and of the unrest, what may remain."""

_FEWEST = 2
_SLOW_S, _NEAR, _AGREE = 20.0, 0.15, 0.7
_LEAST_PERCENT, _TO_SD = 0.1, 1.4826


@dataclass(frozen=True, slots=True)
class Lag:
    """A meter that comes late.

    row      of the meter
    seconds  how late; sd: how well that is known
    left     the share of the unrest around its steps that remains once it is shifted back
    rivals   others by which about as much vanishes: (row, seconds, left)
    """

    row: int
    seconds: float
    sd: float
    left: float
    rivals: tuple[tuple[int, float, float], ...]


def lag_of(case: Case) -> Lag | None:
    """None where no meter comes late for certain."""
    interval_s = case.snapshot.interval_s
    around = arounds(case) if interval_s > 0 else []
    if len(around) < _FEWEST:
        return None
    shifts = _shifts(interval_s)
    better = np.stack([_better(each, shifts) for each in around])
    within = np.array([max(meter.percent, _LEAST_PERCENT) / 100 for meter in case.meters])
    without = with_gains(around, within)
    found = []
    for row in range(len(case.meters)):
        shift, sd = _shift(better[:, row], shifts, interval_s)
        if shift:
            shift = _refined(around, row, shift, shifts)
            cost = with_gains(moved_back(around, row, shift), within)
            left = 1 - _explained(row, around, without, cost)
            total = float(np.minimum(without - cost, MOST_PER_STEP).sum())
            found.append((total, cost, Lag(row, shift * interval_s, sd * interval_s, left, ())))
    total, cost, lag = max(found, key=lambda each: each[0], default=(0.0, without, None))
    if lag is None or total < BEYOND or lag.left > MOST_LEFT:
        return None
    shift = round(lag.seconds / interval_s)
    if not all(_stays(*each, lag.row, shift, cost) for each in _otherwise(case, around, within)):
        return None
    rivals = [
        (one.row, one.seconds, one.left) for by, _, one in found if one is not lag and by > total - APART
    ]
    return replace(lag, rivals=tuple(rivals))


def _stays(around: list[Around], within: Floats, row: int, shift: int, cost: Floats) -> bool:
    """True where what is assumed instead explains steps worse than the lag does, or leaves as much to it."""
    otherwise = with_gains(around, within)
    return _apart(otherwise, cost) or _apart(otherwise, with_gains(moved_back(around, row, shift), within))


def _apart(costs: Floats, cost: Floats) -> bool:
    return float(np.clip(costs - cost, -MOST_PER_STEP, MOST_PER_STEP).sum()) >= APART


def _otherwise(case: Case, around: list[Around], within: Floats) -> Iterator[tuple[list[Around], Floats]]:
    """Balances around steps, and how well gains are known, where one gain is wrong or two meters are exchanged."""
    for row in range(len(within)):
        yield around, np.where(np.arange(len(within)) == row, np.inf, within)
    powers = [row for row, meter in enumerate(case.meters) if meter.of_power]
    for one, other in combinations(powers, 2):
        exchanged = [with_exchange(each, one, other) for each in around]
        if any(each is not before for each, before in zip(exchanged, around, strict=True)):
            yield exchanged, within


def _shifts(interval_s: float) -> Shifts:
    """Shifts that are tried, in rows: all the short ones, longer ones by a tenth."""
    most = latest_rows(interval_s)
    wide = np.round(np.geomspace(1, most, 40)).astype(np.int64)
    return np.unique(np.concatenate((np.arange(min(most, 24) + 1), wide)))


def _refined(around: list[Around], row: int, shift: int, shifts: Shifts) -> int:
    """The best of all shifts between those that were tried beside this one."""
    place = int(np.searchsorted(shifts, shift))
    between = np.arange(shifts[place - 1] + 1, shifts[min(place + 1, len(shifts) - 1)])
    if len(between) < 2:
        return shift
    total = sum(_better(each, between)[row] for each in around if each.weights[row])
    return int(between[np.argmax(total)])


def _better(each: Around, shifts: Shifts) -> Floats:
    """(J, s) by how much a balance is likelier once a meter is shifted back."""
    found = np.zeros((len(each.weights), len(shifts)))
    for row in np.flatnonzero(each.weights).tolist():
        read = each.rows[row]
        moved = np.lib.stride_tricks.sliding_window_view(read, each.kept)[shifts]
        found[row] = each.cost - each.costs(each.imbalance + each.weights[row] * (moved - read[: each.kept]))
    return found


def _shift(mine: Floats, shifts: Shifts, interval_s: float) -> tuple[int, float]:
    """By how many rows a meter's readings come late, and how well that is known; 0 where each step says another.

    mine  (a, s) by how much each step is likelier with each shift
    """
    best = int(np.argmax(mine.sum(axis=0)))
    shift = int(shifts[best])
    least = 1 if interval_s >= _SLOW_S else LEAST_LAG_ROWS
    if not least <= shift <= WITHIN * shifts[-1] or shift * interval_s < LEAST_LAG_S:
        return 0, 0.0
    total = mine.sum(axis=0)
    if total[best] - total[shifts > WITHIN * shifts[-1]].max() < APART:
        return 0, 0.0
    # The best of many shifts does better than the true one by about this even where there is nothing but noise.
    chance = float(np.log(len(shifts)))
    speaks = mine.max(axis=1) > chance
    single, most = shifts[np.argmax(mine[speaks], axis=1)], mine[speaks].max(axis=1)
    near = np.abs(single - shift) <= np.maximum(1, _NEAR * shift)
    near |= mine[speaks, best] > np.maximum(most - chance, most / 2)
    weight = np.minimum(most, MOST_PER_STEP)
    if near.sum() < _FEWEST or weight[near].sum() < _AGREE * weight.sum():
        return 0, 0.0
    strays = _TO_SD * float(np.median(np.abs(single[near] - shift)))
    return shift, max(0.3, strays) / float(near.sum()) ** 0.5


def _explained(row: int, around: list[Around], without: Floats, cost: Floats) -> float:
    """The share of the unrest that is gone where a meter moves; what is left of it is noise if it isn't more."""
    moves = np.array([each.moves[row] for each in around], np.bool_)
    noise = np.minimum(cost, [0.5 * each.counted * each.kept for each in around])
    unrest = float((without - noise)[moves].sum())
    return float(np.clip((without - cost)[moves].sum() / unrest, 0.0, 1.0)) if unrest > 0 else 0.0
