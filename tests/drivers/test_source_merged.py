"""Several sources as one: a row per cycle, freshest readings, and NaN for what didn't come."""

import math
import threading

import numpy as np
import pytest
from leaks import nothing_left_behind
from modbus_servers import Plant, served
from source_help import all_missing, frames_until, hasty, rows, running, value
from test_modbus_source import BATTERY, LOAD, at, source

from drivers.combining import Share, combined
from drivers.merged import MergedSource
from drivers.reader import Reader
from drivers.source import Frame, State, in_order
from recordings.errors import SourceError


def share(role=None, read_at=1.0, **values):
    return Share(role, frozenset(values), values, dict.fromkeys(values, read_at))


def test_powers_of_one_role_are_added_up_and_voltages_averaged():
    values, _ = combined(
        [
            share("battery", battery_power=100, battery_voltage=53),
            share("battery", battery_power=50, battery_voltage=54),
        ]
    )
    assert values == {"battery_power": 150, "battery_voltage": 53.5}


def test_the_device_whose_role_it_is_goes_before_a_by_product():
    values, _ = combined([share("converter", battery_power=90), share("battery", battery_power=100)])
    assert values == {"battery_power": 100}
    values, _ = combined([share(None, battery_power=90), share("converter", battery_power=100)])
    assert values == {"battery_power": 90}


def test_a_sum_of_which_a_part_is_missing_is_missing():
    away = Share("solar", frozenset({"solar_power"}), {}, {})
    values, read_at = combined([share("solar", solar_power=500), away])
    assert math.isnan(values["solar_power"])
    assert read_at == {}


def test_a_sum_is_as_old_as_its_oldest_part():
    _, read_at = combined([share("solar", 1.0, solar_power=1), share("solar", 0.5, solar_power=2)])
    assert read_at == {"solar_power": 0.5}


def merged(*sources, interval_s=0.03):
    return MergedSource([(each, lambda: None) for each in sources], interval_s=interval_s, timing=hasty())


def test_two_devices_make_one_row():
    load, battery = Plant({1: {10: [1000]}}), Plant({1: {20: [531]}})
    with nothing_left_behind(), served(load), served(battery):
        both = merged(source(at(load), [LOAD], 0.03), source(at(battery), [BATTERY], 0.03))
        with running(both) as reader:
            frames = frames_until(
                reader,
                lambda frames: (
                    len(
                        [
                            f
                            for f in frames
                            if len(f.columns) == 2 and not np.isnan([*f.columns.values()]).any()
                        ]
                    )
                    >= 3
                ),
            )
    whole = [frame for frame in frames if len(frame.columns) == 2][-1]
    assert value(whole, "load_power") == 1000
    assert value(whole, "battery_voltage") == pytest.approx(53.1)
    assert set(whole.skew_s) == {"load_power", "battery_voltage"}
    assert min(whole.skew_s.values()) == pytest.approx(0.0, abs=1e-6)
    stamps = [int(frame.time[0]) for frame in frames]
    assert stamps == sorted(set(stamps))


def test_one_that_vanishes_leaves_nan_and_the_other_goes_on():
    load, battery = Plant({1: {10: [1000]}}), Plant({1: {20: [531]}})
    with nothing_left_behind(), served(load):
        with served(battery):
            both = merged(source(at(load), [LOAD], 0.03, 0.2), source(at(battery), [BATTERY], 0.03, 0.2))
            reader = Reader(both).start()
            frames_until(reader, lambda frames: frames and len(frames[-1].columns) == 2)
        frames_until(
            reader,
            lambda frames: (
                frames
                and math.isnan(value(frames[-1], "battery_voltage"))
                and value(frames[-1], "load_power") == 1000
            ),
        )
        assert reader.state.phase == "reading"
        assert str(battery.port) in reader.state.reason
        assert reader.stop()
        assert both.state.phase == "ended"


class Scripted:
    """Gives what it is told to, when it is told to."""

    def __init__(self, name):
        self.name = name
        self.state = State("reading", 0)
        self.channels: tuple[str, ...] = ()
        self.next: list[Frame | Exception | None] = []
        self.changed = threading.Condition()

    def give(self, thing):
        with self.changed:
            self.next.append(thing)
            self.changed.notify_all()

    def frames(self):
        while True:
            with self.changed:
                self.changed.wait_for(lambda: self.next)
                thing = self.next.pop(0)
            if isinstance(thing, Exception):
                raise thing
            if thing is None:
                self.state = State("ended", 0, "done")
                return
            self.channels = in_order((*self.channels, *thing.columns))
            yield thing

    def stop(self):
        self.give(None)


def at_time(stamp, **values):
    return Frame(np.array([stamp]), {name: np.array([each], np.float32) for name, each in values.items()})


def test_a_reading_is_used_once_and_never_repeated():
    one, other = Scripted("one"), Scripted("other")
    second = 10**9
    with running(merged(one, other, interval_s=0.05)) as reader:
        one.give(at_time(100 * second, load_power=1))
        other.give(at_time(100 * second, battery_power=2))
        first = rows(reader, 1)[0]
        assert (value(first, "load_power"), value(first, "battery_power")) == (1, 2)
        one.give(at_time(101 * second, load_power=3))
        later = rows(reader, 1)[0]
        assert value(later, "load_power") == 3
        assert math.isnan(value(later, "battery_power"))
        # And when nothing at all comes, everything is missing, once.
        assert all_missing(rows(reader, 1)[0])


def test_the_freshest_of_several_readings_counts():
    one, other = Scripted("one"), Scripted("other")
    one.give(at_time(100, load_power=1))
    one.give(at_time(200, load_power=2))
    with running(merged(one, other, interval_s=0.05)) as reader:
        frame = rows(reader, 1)[-1]
    assert value(frame, "load_power") == 2
    assert int(frame.time[0]) == 200


def test_a_reading_that_came_too_late_is_left_out():
    one, other = Scripted("one"), Scripted("other")
    one.give(at_time(10**12, load_power=1))
    other.give(at_time(10**12 - 10**9, battery_power=2))
    with running(merged(one, other, interval_s=0.05)) as reader:
        frame = frames_until(reader, lambda frames: frames and len(frames[-1].columns) == 2)[-1]
    assert math.isnan(value(frame, "battery_power"))


def test_it_ends_when_all_have_ended():
    one, other = Scripted("one"), Scripted("other")
    for each in (one, other):
        each.give(at_time(100, load_power=1))
        each.give(None)
    both = merged(one, other)
    reader = Reader(both).start()
    assert len(rows(reader, 1)) >= 1
    reader._thread.join(5)
    assert not reader.running
    assert reader.error is None
    assert both.state.reason == "all sources have ended"


def test_one_that_cannot_be_understood_ends_all():
    with nothing_left_behind():
        one, other = Scripted("one"), Scripted("other")
        one.give(SourceError("needs a map", where="one"))
        reader = Reader(merged(one, other)).start()
        reader._thread.join(5)
        assert str(reader.error) == "one: needs a map."
