"""Readings that come late: found in what happens around steps.

Where everything is read at the same instant, an imbalance that meters' gains leave behind moves only as much as
their class allows. A meter that comes late leaves a pulse beside each of its steps, as long as it is late; shifted
back by as much the pulses are gone, and by any other shift of any other meter they aren't.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.balances import primary
from desktop.diagnosis.suspects.book import Snapshot
from desktop.diagnosis.suspects.steps import Step, latest_rows
from desktop.flow.network import Network
from desktop.flow.streams import BALANCE, BUSES, INDEX, STREAMS

Floats = NDArray[np.float64]

LEAST_LAG_S, LEAST_LAG_ROWS = 5.0, 2
"""Less than this is how far apart healthy meters are read."""

_FEWEST, _FEWEST_ALIKE, _MOST = 3, 2, 32
_LEFT = 0.45
_WITHIN = 0.8
_SLOW_S = 20.0
_RIVAL_LEFT = 0.75
_AGREE, _CONCERNED = 0.7, 0.9
_LEAST_PULSE_W = 100.0


@dataclass(frozen=True, slots=True)
class Lag:
    """A meter that comes late.

    row      of the meter
    seconds  how late; sd: how well that is known
    left     the share of the pulses that remains once it is shifted back
    rivals   others by which about as many vanish: (row, seconds, left)
    """

    row: int
    seconds: float
    sd: float
    left: float
    rivals: tuple[tuple[int, float, float], ...]


def lag_of(snapshot: Snapshot, network: Network) -> Lag | None:
    """None where no meter comes late for certain."""
    if len(snapshot.steps) < _FEWEST or not snapshot.interval_s > 0:
        return None
    weights = [each for _, each in weights_of(snapshot, network)]
    unrest = [found for step in snapshot.steps for found in _unrests(step, weights, snapshot.interval_s)]
    unrest = sorted(unrest, key=lambda each: -each.before)[:_MOST]
    if len(unrest) < _FEWEST:
        return None
    return _latest([_pulse(each, snapshot.interval_s) for each in unrest], snapshot.interval_s)


def _latest(pulses: list[_Pulse], interval_s: float) -> Lag | None:
    """The meter whose shift makes most of the pulses vanish, if each of its own steps says about the same."""
    before, shifts = np.array([each.before for each in pulses]), pulses[0].shifts
    after = np.stack([each.after for each in pulses])
    concerned = after.min(axis=2) < _CONCERNED * before[:, None]
    total = after.sum(axis=0) / before.sum()
    rows = np.flatnonzero(concerned.sum(axis=0) >= _FEWEST).tolist()
    found = sorted((float(total[row].min()), row, int(np.argmin(total[row]))) for row in rows)
    if not found:
        return None
    left, row, best = found[0]
    seconds = float(shifts[best] * interval_s)
    least = 1 if interval_s >= _SLOW_S else LEAST_LAG_ROWS
    if left > _LEFT or not least <= shifts[best] <= _WITHIN * shifts[-1] or seconds < LEAST_LAG_S:
        return None
    single = shifts[np.argmin(after[concerned[:, row], row], axis=1)]
    near = np.abs(single - shifts[best]) <= np.maximum(1, 0.15 * shifts[best])
    sizes = before[concerned[:, row]]
    if near.sum() < _FEWEST_ALIKE or sizes[near].sum() < _AGREE * sizes.sum():
        return None
    sd = max(0.3, float(np.std(single[near]))) * interval_s / float(near.sum()) ** 0.5
    rivals = tuple(
        (other, float(shifts[its] * interval_s), share)
        for share, other, its in found[1:]
        if share < min(_RIVAL_LEFT, left + 0.15)
    )
    return Lag(row, seconds, sd, left, rivals)


@dataclass(frozen=True, slots=True)
class _Pulse:
    """What one balance leaves around one step.

    before  how much, W·rows
    after   (J, shifts) how much once a meter is shifted back
    """

    before: float
    after: Floats
    shifts: NDArray[np.int64]


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


@dataclass(frozen=True, slots=True)
class _Unrest:
    """One balance around one step, and by how much it strays, W·rows."""

    rows: Floats
    weight: Floats
    before: float


def _shifts(interval_s: float) -> NDArray[np.int64]:
    """Shifts that are tried, in rows: all the short ones, longer ones by a tenth."""
    most = latest_rows(interval_s)
    wide = np.round(np.geomspace(1, most, 40)).astype(np.int64)
    return np.unique(np.concatenate((np.arange(min(most, 24) + 1), wide)))


def _unrests(step: Step, weights: Sequence[Floats], interval_s: float) -> list[_Unrest]:
    steps = np.diff(step.time) / 1e9
    if steps.max() > 1.5 * interval_s or steps.min() < 0.5 * interval_s:
        return []
    rows = step.rows.astype(np.float64)
    kept = rows.shape[1] - latest_rows(interval_s)
    found = []
    for weight in weights:
        used = np.flatnonzero(weight)
        if np.isfinite(rows[used]).all():
            before = float(_unrest((weight[used] @ rows[used])[None, :kept])[0])
            if before > _LEAST_PULSE_W:
                found.append(_Unrest(rows, weight, before))
    return found


def _pulse(each: _Unrest, interval_s: float) -> _Pulse:
    rows, weight = each.rows, each.weight
    shifts = _shifts(interval_s)
    used = np.flatnonzero(weight)
    kept = rows.shape[1] - int(shifts[-1])
    imbalance = weight[used] @ rows[used]
    after = np.full((len(weight), len(shifts)), each.before)
    for row in used:
        moved = np.lib.stride_tricks.sliding_window_view(rows[row], kept)[shifts]
        after[row] = _unrest(imbalance[None, :kept] + weight[row] * (moved - rows[row, None, :kept]))
    return _Pulse(each.before, after, shifts)


def _unrest(imbalance: Floats) -> Floats:
    """(s,) of imbalances (s, k): how far they stray from where they mostly are, W·rows."""
    middle = np.median(imbalance, axis=1, keepdims=True)
    off = np.abs(imbalance - middle)
    total: Floats = np.maximum(off - 40.0, 0.0).sum(axis=1)
    return total
