"""A recording played as if it were live."""

import numpy as np
import pytest
from source_help import hasty

from drivers.played import PlayedSource
from drivers.timing import Timing
from recordings.recording import Recording


def recording(count=100, step_s=1.0):
    time = 10**18 + np.arange(count) * round(step_s * 1e9)
    return Recording.from_columns(time, {"load_power": np.arange(count, dtype=np.float32)})


class Fake:
    """A clock that only waiting moves."""

    def __init__(self):
        self.now = 50.0

    def timing(self):
        return Timing(lambda: round(self.now * 1e9), lambda: self.now, lambda: 0.5, self.wait)

    def wait(self, event, seconds):
        self.now += seconds
        return event.is_set()


def joined(frames):
    frames = list(frames)
    return (
        np.concatenate([frame.time for frame in frames]),
        np.concatenate([frame.columns["load_power"] for frame in frames]),
    )


def test_all_rows_come_in_order_at_their_pace():
    fake = Fake()
    source = PlayedSource(recording(10), timing=fake.timing())
    due = []
    for frame in source.frames():
        due += [fake.now - 50.0] * len(frame.time)
    assert due == pytest.approx(np.arange(10), abs=1e-6)
    assert source.state.phase == "ended"
    assert source.state.reason == "the recording has ended"


def test_rows_are_stamped_as_if_they_were_measured_now():
    time, load = joined(PlayedSource(recording(10), timing=Fake().timing()).frames())
    assert time.tolist() == [(50 + row) * 10**9 for row in range(10)]
    assert load.tolist() == list(range(10))


def test_rows_may_keep_their_own_times():
    time, _ = joined(PlayedSource(recording(10), shifted=False, timing=Fake().timing()).frames())
    assert time.tolist() == recording(10).time.tolist()


def test_a_higher_speed_shortens_the_distances():
    fake = Fake()
    time, _ = joined(PlayedSource(recording(10), speed=10.0, timing=fake.timing()).frames())
    assert np.diff(time).tolist() == [10**8] * 9
    assert fake.now == pytest.approx(50.9)


def test_times_rise_strictly_at_any_speed():
    time, load = joined(PlayedSource(recording(1000, 1e-6), speed=1e5, timing=Fake().timing()).frames())
    assert (np.diff(time) > 0).all()
    assert len(load) == 1000


def test_all_at_once():
    frames = list(PlayedSource(recording(10), speed=float("inf"), timing=Fake().timing()).frames())
    assert [len(frame.time) for frame in frames] == [10]


def test_it_can_be_stopped():
    source = PlayedSource(recording(), timing=hasty())
    frames = source.frames()
    next(frames)
    source.stop()
    assert list(frames) == []
    assert source.state.reason == "stopped"


def test_an_empty_recording_ends_at_once():
    source = PlayedSource(Recording(["load_power"]), timing=Fake().timing())
    assert list(source.frames()) == []
    assert source.state.phase == "ended"
