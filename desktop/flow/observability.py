"""What can be told of each stream from the meters that read: worked out once per pattern of missing readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from desktop.flow.forms import Terms, terms_of

Floats = NDArray[np.float64]

_SMALL = 1e-9

Knowledge = Literal["checked", "measured", "computed", "unknown", "absent"]
"""checked: metered, and other meters confirm it; measured: metered only; computed: no meter, but follows from
the others; unknown: nothing tells how much; absent: held at zero."""


@dataclass(frozen=True, slots=True)
class Observability:
    """A balanced network A·x = 0 seen through some meters. Streams are numbered as the columns of A.

    size         number of streams
    measured     streams with a reading
    redundant    those of them that other readings confirm
    computed     stream without a reading that follows from others → its weights on measured streams
    unknown      streams without a reading that don't follow
    constraints  (k, size) what the measured streams alone must fulfil: constraints @ x = 0, zero elsewhere
    combination  (k, rows of A) constraints = combination @ A

    The projection that eliminates unmeasured streams is that of Crowe, García Campos and Hrymak 1983
    (AIChE J. 29:881), found by Gauss-Jordan elimination; the classes are those of Vaclavek 1969.
    """

    size: int
    measured: tuple[int, ...]
    redundant: frozenset[int]
    computed: dict[int, Terms]
    unknown: tuple[int, ...]
    constraints: Floats
    combination: Floats

    @property
    def degrees_of_freedom(self) -> int:
        """How many independent checks the readings allow."""
        return len(self.constraints)

    def knowledge(self, stream: int) -> Knowledge:
        """What is known of one stream."""
        if stream in self.measured:
            return "checked" if stream in self.redundant else "measured"
        if stream in self.computed:
            return "computed"
        return "unknown" if stream in self.unknown else "absent"

    @classmethod
    def of(
        cls,
        network: Floats,
        measured: Sequence[int],
        unmeasured: Sequence[int],
        preferred: Sequence[Floats] = (),
    ) -> Observability:
        """Classify the streams. Streams that are in neither list are held at zero.

        network    (r, size) balances
        preferred  (r,) combinations of balances to be used as constraints where they hold measured streams only
        """
        reduced, combination, pivots = _eliminated(network, unmeasured)
        computed, unknown = _computed(reduced, pivots, measured, unmeasured)
        rest = [row for row in range(len(network)) if row not in pivots.values()]
        wanted = [whole for whole in preferred if _holds_only(whole @ network, measured, unmeasured)]
        chosen = _independent([*wanted, *combination[rest]], network, measured)
        kept = [stream in set(measured) for stream in range(network.shape[1])]
        constraints = np.where(kept, chosen @ network, 0.0)
        constraints[np.abs(constraints) < _SMALL] = 0.0
        return cls(
            size=network.shape[1],
            measured=tuple(measured),
            redundant=frozenset(i for i in measured if constraints[:, i].any()),
            computed=computed,
            unknown=unknown,
            constraints=constraints,
            combination=chosen,
        )


def _eliminated(network: Floats, unmeasured: Sequence[int]) -> tuple[Floats, Floats, dict[int, int]]:
    """Solve the balances for as many unmeasured streams as possible: (reduced, combination, stream → row)."""
    balances = len(network)
    work = np.hstack((network, np.eye(balances)))
    pivots: dict[int, int] = {}
    for stream in unmeasured:
        free = [row for row in range(balances) if row not in pivots.values()]
        if not free:
            break
        row = max(free, key=lambda candidate: abs(work[candidate, stream]))
        if abs(work[row, stream]) < _SMALL:
            continue
        work[row] /= work[row, stream]
        for other in range(balances):
            if other != row and work[other, stream] != 0:
                work[other] -= work[other, stream] * work[row]
        work[np.abs(work) < _SMALL] = 0.0
        pivots[stream] = row
    return work[:, : network.shape[1]], work[:, network.shape[1] :], pivots


def _computed(
    reduced: Floats, pivots: dict[int, int], measured: Sequence[int], unmeasured: Sequence[int]
) -> tuple[dict[int, Terms], tuple[int, ...]]:
    open_ones = [stream for stream in unmeasured if stream not in pivots]
    computed: dict[int, Terms] = {}
    for stream, row in pivots.items():
        if not reduced[row, open_ones].any():
            weights = np.zeros(reduced.shape[1])
            weights[list(measured)] = -reduced[row, list(measured)]
            computed[stream] = terms_of(weights)
    return computed, tuple(stream for stream in unmeasured if stream not in computed)


def _holds_only(constraint: Floats, measured: Sequence[int], unmeasured: Sequence[int]) -> bool:
    return bool(
        np.all(np.abs(constraint[list(unmeasured)]) < _SMALL)
        and np.any(np.abs(constraint[list(measured)]) >= _SMALL)
    )


def _independent(combinations: Sequence[Floats], network: Floats, measured: Sequence[int]) -> Floats:
    """The first combinations whose constraints on measured streams don't follow from those before."""
    chosen: list[Floats] = []
    for combination in combinations:
        trial = np.array([*chosen, combination]) @ network[:, list(measured)]
        if measured and np.linalg.matrix_rank(trial, tol=_SMALL) == len(trial):
            chosen.append(combination)
    return np.array(chosen).reshape(len(chosen), len(network))
