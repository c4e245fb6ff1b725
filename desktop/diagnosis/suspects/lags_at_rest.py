"""Readings that come late where hardly anything steps: found in how balances wander all the time.

A lag must explain that better than healthy meters do. And where it's assumed instead that one gain is wrong, or
that two meters are exchanged, what a meter reads so much later must still say something of the balance: it says
nothing where that is the whole truth.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.case import Case
from desktop.diagnosis.suspects.lags import (
    APART,
    BEYOND,
    LEAST_LAG_ROWS,
    MOST_LEFT,
    WITHIN,
    Lag,
)
from desktop.diagnosis.suspects.wander import Wander, wanders

Floats = NDArray[np.float64]

_WORTH = 5.0
"""What is less likely than this at first sight isn't looked at."""

_MOST_PER_WINDOW = 6.0
"""No window counts more than this."""

_SHARPEST = 25.0
"""No lag is known to less than a fifth of a cell."""


def lag_at_rest(case: Case) -> Lag | None:
    """None where no meter comes late for certain."""
    balances = wanders(case) if case.snapshot.interval_s > 0 else []
    if not balances:
        return None
    balances = [each.erring(each.left(each.reads)) for each in balances]
    likely = _likely(_better(case, balances))
    if not likely or likely[0][0] < _WORTH:
        return None
    _, row, cells = likely[0]
    balances = [each.erring(each.left(each.late(row, cells))) for each in balances]
    without = _costs(balances, [each.left(each.reads) for each in balances])
    found = []
    for _, row, cells in likely:
        cost = _costs(balances, [each.left(each.late(row, cells)) for each in balances])
        found.append((float(np.minimum(without - cost, _MOST_PER_WINDOW).sum()), row, cells, cost))
    total, row, cells, cost = max(found, key=lambda each: each[0])
    left = _left(balances, without, cost)
    if total < BEYOND or left > MOST_LEFT or not _stays(case, balances, row, cells, cost):
        return None
    better = _better(case, balances)
    rivals = tuple(
        (other, _sharp(case, better[other], late)[0], _left(balances, without, costs))
        for by, other, late, costs in found
        if other != row and by > total - APART
    )
    return Lag(row, *_sharp(case, better[row], cells), left, rivals)


def _better(case: Case, balances: list[Wander]) -> Floats:
    """(J, s + 1) by how much it's likelier, about, that each meter comes so many cells late."""
    found = np.zeros(())
    for each in balances:
        found = found + each.better(len(case.meters))
    return found


def _likely(better: Floats) -> list[tuple[float, int, int]]:
    """The same where it's most, with meter and cells, the likeliest first."""
    most = np.argmax(better, axis=1).tolist()
    late = [(row, cells) for row, cells in enumerate(most) if _within(cells, better.shape[1] - 1)]
    return sorted(((float(better[row, cells]), row, cells) for row, cells in late), reverse=True)


def _within(cells: int, latest: int) -> bool:
    return LEAST_LAG_ROWS <= cells <= WITHIN * latest


def _costs(balances: list[Wander], left: list[Floats]) -> Floats:
    """What is left of each balance, as costs of all their windows."""
    return np.concatenate([each.costs(rest) for each, rest in zip(balances, left, strict=True)])


def _left(balances: list[Wander], without: Floats, cost: Floats) -> float:
    """The share of the unrest that remains; what is noise isn't unrest."""
    noise = sum(0.5 * each.counted * len(each.sigma) for each in balances)
    unrest = float(without.sum()) - min(noise, float(cost.sum()))
    return float(np.clip(1 - (without - cost).sum() / unrest, 0.0, 1.0)) if unrest > 0 else 1.0


def _stays(case: Case, balances: list[Wander], row: int, cells: int, cost: Floats) -> bool:
    """True where no wrong gain and no exchange does away with what speaks for the lag."""
    later = [each.later(row, cells) for each in balances]
    for reads, free in _otherwise(case, balances):
        other = [each.left(read, free) for each, read in zip(balances, reads, strict=True)]
        costs = _costs(balances, other)
        if _apart(costs, cost):
            continue
        besides = [
            rest if moved is None else each.left(read, free, moved)
            for each, read, rest, moved in zip(balances, reads, other, later, strict=True)
        ]
        if not _apart(costs, _costs(balances, besides)):
            return False
    return True


def _otherwise(case: Case, balances: list[Wander]) -> Iterator[tuple[list[Floats], int]]:
    """Readings in each balance, and the meter whose gain isn't known."""
    rows = sorted({int(row) for each in balances for row in each.used})
    for row in rows:
        yield [each.reads for each in balances], row
    for one, other in combinations([row for row in rows if case.meters[row].of_power], 2):
        exchanged = [each.exchanged(one, other) for each in balances]
        if any(reads is not None for reads in exchanged):
            yield (
                [
                    each.reads if reads is None else reads
                    for each, reads in zip(balances, exchanged, strict=True)
                ],
                -1,
            )


def _apart(costs: Floats, cost: Floats) -> bool:
    return float(np.clip(costs - cost, -_MOST_PER_WINDOW, _MOST_PER_WINDOW).sum()) >= APART


def _sharp(case: Case, better: Floats, cells: int) -> tuple[float, float]:
    """How late, s, between cells; and its standard deviation: by how likelihood falls off on both sides."""
    before, best, after = better[cells - 1 : cells + 2]
    bend = max(float(2 * best - before - after), 1e-9)
    off = float(np.clip((after - before) / (2 * bend), -0.5, 0.5))
    width_s = case.snapshot.course_s
    return (cells + off) * width_s, width_s / min(bend, _SHARPEST) ** 0.5
