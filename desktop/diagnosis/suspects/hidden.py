"""What it costs that nobody knows what flows where a meter tells nothing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.case import Case, System
from desktop.diagnosis.suspects.robust import losses

Floats = NDArray[np.float64]

_PACES = (0.0, 1.0, 3.0, 10.0, 30.0)
_HALF = float(np.log(2.0))
_LIVELY, _CLEAR = frozenset({"load", "battery"}), 3.0
_CHOICE = float(np.log(len(_PACES)))


def flowing(system: System, beta: Floats, row: int, unread: NDArray[np.bool_], price: float) -> float:
    """Half of minus two log-likelihoods of the rows that a meter is in, in these columns of a case, if what flows
    goes on as it was, wandering at one of several paces, or starts anew.

    system, beta  with the meter's readings, and what healthy meters and converter are fitted at without them
    price         what it costs a row to start anew
    """
    left = (system.y - system.design @ beta) / system.sigma
    concerned = (system.design[:, row] != 0) & unread[system.cell]
    total = 0.0
    for number in np.unique(system.equation[concerned]).tolist():
        mine = np.flatnonzero(concerned & (system.equation == number))
        mine = mine[np.argsort(system.cell[mine], kind="stable")]
        weight = system.weight[mine]
        change = np.diff(left[mine])
        costs = []
        for pace in _PACES:
            spread = (2.0 + pace**2) ** 0.5
            goes_on = losses(change / spread) + np.log(spread)
            costs.append(float(weight[1:] @ (_HALF - np.logaddexp(-goes_on, -price))))
        total += float(weight[0]) * price + min(costs) + _CHOICE
    return total


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
