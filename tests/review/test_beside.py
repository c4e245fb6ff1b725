"""Judgements beside: the latest holds, one at a time, renewed when it has become old."""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest
from hand_clock import Seconds

from desktop.review.beside import REST, Beside


class Held:
    """Work that waits until it is let go, and counts how often it was prepared."""

    def __init__(self) -> None:
        self.prepared = 0
        self.go = threading.Event()

    def __call__(self) -> Callable[[], int]:
        self.prepared += 1
        number = self.prepared

        def work() -> int:
            assert self.go.wait(10)
            return number

        return work


def test_until_something_is_found_the_caller_hears_what_it_said() -> None:
    beside, work = Beside(), Held()
    assert beside.latest("a", work, 0) == 0
    assert beside.latest("a", work, 0) == 0
    assert work.prepared == 1
    work.go.set()
    beside.wait()
    assert beside.latest("a", work, 0) == 1


def test_it_is_made_anew_when_it_has_rested_in_proportion_to_what_it_took() -> None:
    clock = Seconds()
    beside, work = Beside(clock), Held()
    work.go.set()
    beside.latest("a", work, 0)
    clock.passed = 2.0
    beside.wait()
    clock.passed = 2.0 + 2.0 * REST - 0.1
    assert beside.latest("a", work, 0) == 1
    assert work.prepared == 1
    clock.passed += 0.2
    assert beside.latest("a", work, 0) == 1
    beside.wait()
    assert beside.latest("a", work, 0) == 2


def test_one_piece_of_work_at_a_time() -> None:
    beside, one, other = Beside(), Held(), Held()
    beside.latest("one", one, 0)
    beside.latest("other", other, 0)
    assert other.prepared == 0
    one.go.set()
    other.go.set()
    beside.wait()
    beside.latest("other", other, 0)
    beside.wait()
    assert beside.latest("other", other, 0) == 1


def test_a_fault_is_raised_in_the_callers_thread_and_closing_ends_it() -> None:
    def faulty() -> Callable[[], int]:
        def work() -> int:
            raise ValueError("no")

        return work

    beside = Beside()
    beside.latest("a", faulty, 0)
    with pytest.raises(ValueError, match="no"):
        beside.wait()
    before = threading.active_count()
    beside.close()
    assert beside.latest("a", faulty, 7) == 7
    assert threading.active_count() == before


def test_what_was_found_of_the_same_never_becomes_old() -> None:
    clock = Seconds()
    beside, work = Beside(clock), Held()
    work.go.set()
    beside.latest("a", work, 0, (5,))
    beside.wait()
    clock.passed = 1e6
    assert beside.latest("a", work, 0, (5,)) == 1
    assert work.prepared == 1
    assert beside.latest("a", work, 0, (6,)) == 1
    beside.wait()
    assert beside.latest("a", work, 0, (6,)) == 2


def test_it_tells_that_something_was_found() -> None:
    beside, work = Beside(), Held()
    assert not beside.ripe
    beside.latest("a", work, 0)
    assert not beside.ripe
    work.go.set()
    beside._work.thread.join()
    assert beside.ripe
    beside.latest("a", work, 0)
    assert not beside.ripe
