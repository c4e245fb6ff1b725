"""A review that grows beside its window: in the end the same as one made at once, and never long in coming."""

from __future__ import annotations

import threading
from itertools import pairwise

import numpy as np
from days import SITE, session_day
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from likeness import close

from desktop.review import growing, review
from desktop.review.growing import GrowingReview
from recordings.recording import Recording
from recordings.room import Spool


def grown(recording: Recording, cuts: list[int], spool: Spool | None = None) -> GrowingReview:
    room = {} if spool is None else {"room": spool}
    found = GrowingReview(Recording((), recording.provenance, **room), SITE)
    for start, stop in pairwise([0, *sorted(cuts), len(recording)]):
        part = recording.rows(start, stop)
        told = {name: part.column(name) for name in part.channels}
        if stop < len(recording):
            told = {name: read for name, read in told.items() if np.isfinite(read).any()}
        found.extend(part.time, told)
        if spool is not None:
            spool.release()
    return found


@given(st.lists(st.integers(1, 2500), max_size=25))
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_what_was_learned_beside_is_what_would_have_been_learned_at_once(monkeypatch, cuts):
    monkeypatch.setattr(growing, "SHORT_ROWS", 0)
    recording = session_day(2500)
    whole = review(recording, SITE)
    spool = Spool()
    found = grown(recording, cuts, spool)
    found.settle()
    close(found.as_json(), whole.as_json())
    np.testing.assert_allclose(found.stream("battery"), whole.stream("battery"), rtol=1e-6, atol=1e-3)
    found.close()
    spool.close()


def test_the_revision_rises_when_the_past_is_worked_through_anew(monkeypatch):
    monkeypatch.setattr(growing, "SHORT_ROWS", 0)
    recording = session_day(2500)
    found = grown(recording, [])
    before, learned = found.revision, found.learned
    late = recording.time[-1] + np.arange(1, 400) * 1_000_000_000
    found.extend(late, {"grid_power": np.full(len(late), 500.0), "load_power": np.full(len(late), 500.0)})
    found.settle()
    assert found.revision > before
    assert found.learned != learned
    assert found.learned.network.has("grid")


def test_a_closed_review_leaves_no_thread_and_can_be_looked_at(monkeypatch):
    monkeypatch.setattr(growing, "SHORT_ROWS", 0)
    recording = session_day(2500)
    before = threading.active_count()
    found = grown(recording, list(range(64, 2500, 64)))
    found.close()
    assert threading.active_count() == before
    assert found.moment(int(recording.time[-1])).row == len(recording) - 1
