"""The worker thread and its queue, with sources made for the purpose."""

import threading
import time

import numpy as np
import pytest
from leaks import nothing_left_behind
from source_help import frames_until

from drivers.reader import Reader
from drivers.source import Frame, State
from recordings.errors import SourceError


class Counting:
    """Gives rows with rising values as fast as they are taken."""

    name = "counting"
    channels = ("load_power",)

    def __init__(self, count=None, fault=None):
        self.count, self.fault = count, fault
        self.given = 0
        self.stopped = threading.Event()
        self.state = State("connecting", 0)

    def frames(self):
        while not self.stopped.is_set() and self.given != self.count:
            self.given += 1
            yield Frame(np.array([self.given]), {"load_power": np.array([self.given], np.float32)})
        if self.fault:
            raise self.fault

    def stop(self):
        self.stopped.set()


def test_frames_come_in_order_and_none_is_lost():
    with nothing_left_behind():
        reader = Reader(Counting(500), capacity=7).start()
        frames = frames_until(reader, lambda frames: len(frames) == 500)
        assert [int(frame.time[0]) for frame in frames] == list(range(1, 501))
        assert reader.stop()
        assert reader.take() == []


def test_a_full_queue_holds_the_source_back():
    source = Counting()
    reader = Reader(source, capacity=5).start()
    while source.given < 6:
        time.sleep(0.001)
    time.sleep(0.05)
    assert source.given == 6
    assert len(reader.take()) == 5
    assert reader.stop()


def test_it_stops_while_the_queue_is_full():
    with nothing_left_behind():
        reader = Reader(Counting(), capacity=1).start()
        assert reader.stop(1.0)
        assert not reader.running


def test_who_waits_is_woken_at_the_end():
    reader = Reader(Counting(3)).start()
    frames_until(reader, lambda frames: len(frames) == 3)
    begun = time.monotonic()
    assert reader.take(30.0) == []
    assert time.monotonic() - begun < 10
    assert reader.stop()


def test_each_frame_and_the_end_are_notified():
    told = []
    reader = Reader(Counting(3), notify=lambda: told.append(1)).start()
    while reader.running:
        time.sleep(0.001)
    assert len(told) == 4


@pytest.mark.parametrize(
    ("fault", "says"), [(SourceError("is gone", where="x"), "x: is gone."), (ZeroDivisionError("oh"), "oh")]
)
def test_a_fault_of_the_source_is_kept_for_the_reader(fault, says):
    reader = Reader(Counting(1, fault)).start()
    while reader.running:
        time.sleep(0.001)
    assert says in str(reader.error)
    assert isinstance(reader.error, SourceError)
    assert len(reader.take()) == 1


def test_a_reader_that_was_never_started_can_be_stopped():
    assert Reader(Counting()).stop()
