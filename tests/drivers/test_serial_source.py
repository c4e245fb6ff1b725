"""A serial line as a live source, over real pseudo-terminals."""

import itertools
import math
import random

import pytest
from serial_help import NAMED, Line, line_map, until, values

from drivers.reader import Reader
from drivers.serial_lines.framing import xor
from drivers.serial_lines.source import SerialSource

SEALED = 'checksum = "xor"'


@pytest.fixture
def line():
    made = Line()
    yield made
    made.close()


def sealed(text):
    return b"$%s*%02X\r\n" % (text, xor(text))


def reader_of(port, **options):
    sheet = line_map("pairs", NAMED, SEALED, options.pop("interval_s", 0.05))
    return Reader(SerialSource(port, sheet, **options))


def test_lines_become_rows_as_they_come(line):
    reader = reader_of(line.name).start()
    numbers = itertools.count()
    frames = until(
        reader,
        lambda frames: len(frames) >= 20,
        lambda: line.send(sealed(b"load=%d soc=50" % next(numbers))),
    )
    assert reader.state.phase == "reading"
    assert reader.stop()
    loads = [values(frame)["load_power"] for frame in frames]
    assert loads == sorted(set(loads))
    assert all(load % 1000 == 0 for load in loads)
    times = [int(frame.time[0]) for frame in frames]
    assert times == sorted(set(times))
    assert reader.state.phase == "ended"
    assert reader.error is None


def test_a_silent_line_gives_rows_of_nan_and_says_so(line):
    reader = reader_of(line.name).start()
    until(reader, bool, lambda: line.send(sealed(b"load=1 soc=50")))
    frames = until(reader, lambda frames: sum(math.isnan(values(each)["load_power"]) for each in frames) >= 3)
    assert reader.state.phase == "waiting"
    assert reader.state.retry_at is None
    assert "nothing that can be read comes" in reader.state.reason
    nothing = [frame for frame in frames if math.isnan(values(frame)["load_power"])]
    assert all(math.isnan(values(frame)["battery_soc"]) for frame in nothing)
    frames = until(reader, lambda frames: values(frames[-1])["load_power"] == 2000 if frames else False,
                   lambda: line.send(sealed(b"load=2 soc=51")))  # fmt: skip
    assert reader.state.phase == "reading"
    assert reader.stop()


def test_before_the_first_reading_there_are_no_rows_and_bad_lines_are_told(line):
    reader = reader_of(line.name).start()
    noise = random.Random(5)
    until(
        reader,
        lambda frames: frames == [] and reader.state.phase == "waiting",
        lambda: line.send(noise.randbytes(40) + b"\n"),
    )
    assert "could not be understood" in reader.state.reason
    assert reader.stop()


def test_a_line_that_is_pulled_and_plugged_in_again_goes_on(tmp_path):
    first, port = Line(), tmp_path / "port"
    port.symlink_to(first.name)
    reader = reader_of(str(port)).start()
    until(reader, bool, lambda: first.send(sealed(b"load=1 soc=50")))
    first.close()
    until(reader, lambda frames: reader.state.retry_at is not None)
    assert reader.state.reason
    port.unlink()
    second = Line()
    port.symlink_to(second.name)
    frames = until(
        reader,
        lambda frames: bool(frames) and values(frames[-1])["load_power"] == 2000,
        lambda: second.send(sealed(b"load=2 soc=50")),
    )
    gone = [values(frame)["load_power"] for frame in frames][:-1]
    assert all(math.isnan(load) or load == 1000 for load in gone)
    assert reader.stop()
    second.close()


def test_a_port_that_is_not_there_is_waited_for_and_left_at_once(tmp_path):
    reader = reader_of(str(tmp_path / "none")).start()
    assert until(reader, lambda frames: reader.state.phase == "waiting") == []
    assert "there is no such port" in reader.state.reason
    assert reader.state.retry_at > reader.state.since
    assert reader.stop()


def test_a_port_that_another_program_holds_is_told(line):
    first = reader_of(line.name).start()
    until(first, bool, lambda: line.send(sealed(b"load=1 soc=50")))
    second = reader_of(line.name).start()
    until(second, lambda frames: second.state.phase == "waiting")
    assert "another program" in second.state.reason
    assert first.stop()
    assert second.stop()


def test_it_stops_while_nothing_comes(line):
    reader = reader_of(line.name, interval_s=100).start()
    assert reader.take(0.05) == []
    assert reader.stop()


def test_what_was_sent_before_it_listened_is_not_taken_for_fresh(line):
    line.send(sealed(b"load=1 soc=50") * 20)
    reader = reader_of(line.name).start()
    frames = until(reader, bool, lambda: line.send(sealed(b"load=2 soc=50")))
    assert {values(frame)["load_power"] for frame in frames} == {2000.0}
    assert reader.stop()


def test_noise_on_a_real_line_makes_no_value(line):
    reader = reader_of(line.name).start()
    noise = random.Random(7)

    def step():
        line.send(noise.randbytes(noise.randint(0, 30)))
        line.send(sealed(b"load=3 soc=77"))

    frames = until(reader, lambda frames: len(frames) >= 60, step)
    assert reader.stop()
    told = {tuple(values(frame).values()) for frame in frames if not math.isnan(values(frame)["load_power"])}
    assert told == {(3000.0, 77.0)}
    assert reader.source.decoder.bad > 0
