"""What can be told of each stream, against brute force by rank."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.flow.observability import Observability


def rank(matrix: np.ndarray) -> int:
    return int(np.linalg.matrix_rank(matrix, tol=1e-8)) if matrix.size else 0


@st.composite
def networks(draw: st.DrawFn) -> tuple[np.ndarray, list[int], list[int]]:
    nodes, size = draw(st.integers(1, 5)), draw(st.integers(2, 9))
    balances = np.zeros((nodes, size))
    for stream in range(size):
        start, end = draw(st.permutations(range(nodes + 1)))[:2]
        factor = draw(st.sampled_from([1.0, 0.9, 0.4]))
        if start < nodes:
            balances[start, stream] = -1.0
        if end < nodes:
            balances[end, stream] = factor
    metered = draw(st.sets(st.integers(0, size - 1)))
    return balances, sorted(metered), [i for i in range(size) if i not in metered]


@settings(deadline=None, derandomize=True)
@given(networks())
def test_classes_agree_with_ranks(case):
    """A stream is determined when its column adds to the rank of the unmeasured ones."""
    balances, metered, unmetered = case
    known = Observability.of(balances, metered, unmetered)
    for stream in range(balances.shape[1]):
        others = balances[:, [i for i in unmetered if i != stream]]
        determined = rank(np.hstack((others, balances[:, [stream]]))) > rank(others)
        expected = (
            ("checked" if determined else "measured")
            if stream in metered
            else ("computed" if determined else "unknown")
        )
        assert known.knowledge(stream) == expected
    assert known.degrees_of_freedom == rank(balances) - rank(balances[:, unmetered])


@settings(deadline=None, derandomize=True)
@given(networks(), st.integers(0, 2**32 - 1))
def test_constraints_and_computed_streams_hold_for_every_balanced_network(case, seed):
    balances, metered, unmetered = case
    known = Observability.of(balances, metered, unmetered)
    chance = np.random.default_rng(seed)
    # Any balanced x: chance, less what doesn't balance.
    x = chance.normal(size=balances.shape[1])
    x -= np.linalg.pinv(balances) @ (balances @ x)
    assert np.abs(known.constraints @ x).max(initial=0.0) < 1e-8
    assert not known.constraints[:, unmetered].any()
    for stream, terms in known.computed.items():
        assert abs(sum(weight * x[i] for i, weight in terms) - x[stream]) < 1e-8
    assert np.abs(known.combination @ balances - known.constraints).max(initial=0.0) < 1e-8


def test_streams_that_are_held_at_zero_are_absent():
    known = Observability.of(np.array([[1.0, -1.0, -1.0]]), [0], [1])
    assert [known.knowledge(i) for i in range(3)] == ["measured", "computed", "absent"]
