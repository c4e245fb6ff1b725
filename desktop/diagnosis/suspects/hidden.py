"""What it costs that nobody knows what flows where a meter tells nothing, or where there is none."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.case import Case, System, limit, prior_sd
from desktop.diagnosis.suspects.robust import Fitted, fit, losses
from desktop.diagnosis.suspects.tracking import Seen, Track, tracked

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_LIVELY, _CLEAR = frozenset({"load", "battery"}), 3.0
_BALANCING = frozenset({"battery", "converter_ac", "converter_dc"})
_AUTONOMOUS = {"load": -1.0, "dc_load": -1.0, "solar": 1.0, "solar_ac": 1.0}
_ALIKE = 0.15
_LEAST_SPAN_W = 300.0
_PEAK = float(np.log(0.375))


@dataclass(frozen=True, slots=True)
class Flow:
    """Where a hidden flow shows: power = start + sign · imbalance.

    rows         (m,) of a system, one in each cell and in order of time
    start, sign  (m,)
    side         +1 where it can't be negative, −1 where it can't be positive, 0 where it may be either
    """

    rows: Rows
    start: Floats
    sign: Floats
    side: float


@dataclass(frozen=True, slots=True)
class Followed:
    """A hidden flow that was followed.

    cost    half of minus two log-likelihoods, of its course and of all that hold without it
    fitted  of what healthy meters and converter may be off by; track: as in `tracking`
    """

    cost: float
    fitted: Fitted
    track: Track


def followed(case: Case, system: System, flow: Flow, rest: System) -> Followed:
    """Follow a flow that shows in a system. Gains are fitted to how it changes, as nobody knows how much it is.

    rest  the equations that hold whatever it is
    """
    mine = flow.rows
    later, before = mine[1:], mine[:-1]
    fitted = fit(
        np.concatenate((rest.y, system.y[later] - system.y[before])),
        np.concatenate((rest.design, system.design[later] - system.design[before])),
        np.concatenate((rest.sigma, np.hypot(system.sigma[later], system.sigma[before]))),
        np.concatenate((rest.weight, 0.5 * system.weight[later])),
        prior_sd(case),
        limit=limit(case),
    )
    imbalance, sigma = system.y[mine] - system.design[mine] @ fitted.beta, system.sigma[mine]
    time = case.snapshot.time[case.cells[system.cell[mine]]] / 1e9
    gap = np.diff(time, prepend=time[0]) / case.snapshot.width_s
    price = dearness(system.y[mine], sigma)
    track = tracked(
        Seen(flow.start + flow.sign * imbalance, sigma, system.weight[mine], gap, price, flow.side)
    )
    z = (rest.y - rest.design @ fitted.beta) / rest.sigma
    cost = track.cost + fitted.stretch + float(rest.weight @ losses(z))
    return Followed(cost, fitted, track)


def dearness(y: Floats, sigma: Floats | float) -> Floats:
    """(r,) what it costs a row that anything may flow: the log of how many deviations it might have been."""
    span = max(_LEAST_SPAN_W, float(np.percentile(np.abs(y), 90))) if len(y) else _LEAST_SPAN_W
    price: Floats = np.maximum(0.0, np.log(span / sigma) + _PEAK)
    return price


def in_order(system: System, rows: Rows) -> Rows:
    """Of these rows of a system the most certain one in each cell, in order of time."""
    order = rows[np.lexsort((system.sigma[rows], system.cell[rows]))]
    _, first = np.unique(system.cell[order], return_index=True)
    return order[first]


def changes(case: Case, system: System, row: int, stood: NDArray[np.bool_]) -> int:
    """How often what a meter should read changed while it stood: each time it was at least as likely to tell so.

    Of what moves by nature only: the house, and the battery, which has to make up for whatever moves.
    """
    if case.meters[row].stream not in _LIVELY:
        return 0
    most = 0
    for number, each in enumerate(system.equations):
        if not each.buses or not each.weights[row]:
            continue
        mine = np.flatnonzero((system.equation == number) & stood[system.cell])
        change = np.abs(np.diff(system.y[mine]))
        clear = np.maximum(
            _CLEAR * np.hypot(system.sigma[mine][1:], system.sigma[mine][:-1]), 2 * case.quantum[row]
        )
        most = max(most, int(np.sum(change > clear)))
    return most


def mirrored(case: Case, system: System, row: int, stood: NDArray[np.bool_]) -> int:
    """How often, while a meter stood, its balance moved as far as what is used and what the sun gives had moved.

    Then what makes up for that must have moved, and this meter didn't show it. Something unmetered would have to
    have moved at the same time and by as much, again and again.
    """
    if case.meters[row].stream not in _BALANCING:
        return 0
    own = np.zeros(len(case.cells))
    for other, meter in enumerate(case.meters):
        if meter.stream in _AUTONOMOUS and meter.of_power:
            own += _AUTONOMOUS[meter.stream] * case.readings[other, : len(case.cells)]
    most = 0
    for number, each in enumerate(system.equations):
        if not each.buses or not each.weights[row]:
            continue
        mine = np.flatnonzero((system.equation == number) & stood[system.cell])
        change, moved = np.diff(system.y[mine]), np.diff(own[system.cell[mine]])
        sd = np.hypot(system.sigma[mine][1:], system.sigma[mine][:-1])
        clear = np.abs(change) > np.maximum(_CLEAR * sd, 2 * case.quantum[row])
        most = max(
            most, int(np.sum(clear & (np.abs(change - moved) < np.maximum(2 * sd, _ALIKE * np.abs(change)))))
        )
    return most
