"""Who carried the house, and when."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from desktop.charging.carriers import LEAST_MINUTES, carriers, grid_away
from desktop.flow.learned import learn
from desktop.flow.minutes import Minutes
from desktop.flow.worker import Worker
from desktop.site import Site
from recordings.recording import Recording

MINUTE = 60_000_000_000
START = 1_700_000_040_000_000_000


def book(generator: list[float], grid: list[float]) -> Minutes:
    """A row each half minute."""
    give = np.repeat(np.array(generator, float), 2), np.repeat(np.array(grid, float), 2)
    time = np.int64(START) + np.arange(len(give[0])) * (MINUTE // 2)
    columns = {"generator_power": give[0], "grid_power": give[1], "load_power": np.full(len(time), 400.0)}
    recording = Recording.from_columns(time, columns)
    learned, minutes = learn(recording, Site()), Minutes()
    minutes.extend(Worker(learned, Site()).work(recording, 0, len(recording)))
    return minutes


def test_a_failed_grid_and_the_set_that_took_over():
    told = carriers(book([0] * 10 + [2000] * 20 + [0] * 10, [1500] * 10 + [0] * 20 + [1500] * 10), Site())
    assert [one.by for one in told] == ["grid", "generator", "grid"]
    assert [(one.end - one.start) // MINUTE for one in told] == [10, 20, 10]
    (away,) = grid_away(told)
    assert (away.start - START) // MINUTE == 10
    assert (away.end - away.start) // MINUTE == 20


def test_a_grid_that_doesn_t_come_back_isn_t_told_to_have_been_away():
    told = carriers(book([0] * 10 + [2000] * 10, [1500] * 10 + [0] * 10), Site())
    assert list(grid_away(told)) == []


def test_battery_and_sun_carry_where_neither_gives():
    told = carriers(book([0] * 8, [0] * 8), Site())
    assert [one.by for one in told] == ["battery and sun"]


@given(st.lists(st.sampled_from([(0, 0), (2000, 0), (0, 900), (2000, 900)]), min_size=1, max_size=60))
def test_stretches_cover_the_minutes_without_overlap(kinds):
    minutes = book([one[0] for one in kinds], [one[1] for one in kinds])
    told = carriers(minutes, Site())
    assert told[0].start == START
    assert told[-1].end == START + len(kinds) * MINUTE
    assert all(before.end == after.start for before, after in pairwise(told))
    assert all(before.by != after.by for before, after in pairwise(told))
    assert all((one.end - one.start) // MINUTE >= LEAST_MINUTES for one in told[:-1])
