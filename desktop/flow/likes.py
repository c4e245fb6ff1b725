"""Measured streams that are alike: they enter every constraint and every computed stream together.

Two such streams, like the generator and the house load where no meter sits between them and the converter, act
as one: their readings add up, with their signs, and so do their variances.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.flow.forms import Rows, Scratch, Terms, weigh
from desktop.flow.observability import Observability

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Likes:
    """Groups of measured streams.

    members      per group its streams, each with its sign in the group
    group        stream → its group and sign
    constraints  (k, groups) the constraints on the groups
    computed     computed stream → (groups,) its weights
    """

    members: list[Terms]
    group: dict[int, tuple[int, float]]
    constraints: Floats
    computed: dict[int, Floats]

    @classmethod
    def of(cls, known: Observability) -> Likes:
        """Group the streams by their columns, which may differ by their sign as a whole."""
        weights = np.zeros((len(known.computed), known.size))
        for row, terms in enumerate(known.computed.values()):
            for stream, weight in terms:
                weights[row, stream] = weight
        table = np.vstack((known.constraints, weights))
        groups: dict[tuple[float, ...], list[tuple[int, float]]] = {}
        for i in known.measured:
            filled = table[table[:, i] != 0, i]
            sign = 1.0 if not filled.size or filled[0] > 0 else -1.0
            groups.setdefault(tuple((np.round(table[:, i] * sign, 12) + 0.0).tolist()), []).append((i, sign))
        members = [_leading(group) for group in groups.values()]
        columns = np.array([table[:, group[0][0]] for group in members]).reshape(len(members), len(table)).T
        return cls(
            members,
            {i: (number, sign) for number, group in enumerate(members) for i, sign in group},
            columns[: len(known.constraints)],
            dict(zip(known.computed, columns[len(known.constraints) :], strict=True)),
        )

    def sums(self, y: Rows, variance: Rows, scratch: Scratch) -> tuple[list[Floats], list[Floats]]:
        """Readings and variances of the groups."""
        totals, spreads, spare = [], [], scratch.spare
        for group in self.members:
            if len(group) == 1:
                totals.append(y[group[0][0]])
                spreads.append(variance[group[0][0]])
                continue
            totals.append(scratch.take())
            weigh(group, y, totals[-1], spare)
            spreads.append(scratch.take())
            weigh(tuple((i, 1.0) for i, _ in group), variance, spreads[-1], spare)
        return totals, spreads


def _leading(group: list[tuple[int, float]]) -> Terms:
    """The group with the sign of its first stream positive, so that its column is that stream's."""
    return tuple((i, sign * group[0][1]) for i, sign in group)
