"""A plant that runs on says what a simulation of it records; and what is printed of it reads back the same."""

import math
import threading

import numpy as np
import pytest
from serial_help import Line, until, values
from wire_help import hut

from drivers.plant.export import scenario, scenario_names
from drivers.plant.simulation import simulate
from drivers.reader import Reader
from drivers.serial_lines.sheet import LineMap
from drivers.serial_lines.source import SerialSource
from drivers.timing import Timing
from drivers.wire.faults import Faults, parse_order
from drivers.wire.live import LivePlant
from drivers.wire.pace import run
from drivers.wire.port import PseudoTerminal, open_port
from drivers.wire.printing import LinePrinter, Publisher
from recordings.errors import SourceError

FAULTS = [
    {"channel": "load_power", "kind": "stuck", "since": "11:01:00", "until": "11:02:00"},
    {"channel": "load_power", "kind": "scale", "value": 1.1},
    {"channel": "solar_power", "kind": "swapped", "other": "generator_power", "since": "11:01:30"},
    {"channel": "battery_power", "kind": "reversed"},
    {"channel": "battery_voltage", "kind": "missing", "since": "11:00:30", "until": "11:01:00"},
    {"channel": "battery_current", "kind": "absent"},
    {"channel": "converter_ac_power", "kind": "offset", "value": -25, "until": "11:03:00"},
]
SKEWED = {"load_power": {"skew_s": 2.4}, "generator_power": {"skew_s": 0.3, "quantum": 5}}


def shortened(name):
    found = scenario(name)
    hours = 90 * found.log.interval_s / 3600
    return found.model_copy(update={"place": found.place.model_copy(update={"hours": hours})})


def held_against_simulation(of):
    plant, recording = LivePlant(of), simulate(of).recording
    readings = [plant.next() for _ in range(len(recording))]
    assert plant.channels == recording.channels
    assert [reading.time for reading in readings] == recording.time.tolist()
    for name in plant.channels:
        told = np.array([reading.values[name] for reading in readings], np.float32)
        assert told.tobytes() == recording.column(name).tobytes(), name


@pytest.mark.parametrize("name", scenario_names())
def test_live_meters_say_what_a_simulation_records(name):
    held_against_simulation(shortened(name))


def test_live_meters_lie_as_ordered():
    held_against_simulation(hut(fault=FAULTS, meters=SKEWED))


@pytest.mark.parametrize("layout", ["delimited", "pairs", "json"])
def test_what_is_printed_on_a_port_reads_back_as_the_meters_said(layout):
    plant = LivePlant(hut(fault=FAULTS))
    printer, port = LinePrinter(plant, layout), open_port("pty")
    reader = Reader(SerialSource(port.name, LineMap.parse(printer.map_text()))).start()
    publisher = Publisher(printer, port.send, Faults([], lambda: 0.0))
    said = []

    def step():
        said.append(plant.next())
        publisher.publish(said[-1])

    frames = until(reader, lambda frames: len(frames) >= 40, step)
    assert reader.stop()
    port.close()
    assert reader.source.decoder.bad <= 1
    told = [{name: np.float32(value) for name, value in reading.values.items()} for reading in said]
    first = next(place for place, each in enumerate(told) if same(each, values(frames[0])))
    for place, frame in enumerate(frames[:40]):
        assert same(told[first + place], values(frame))


def same(one, other):
    assert one.keys() == other.keys()
    return all(
        one[name] == other[name] or (math.isnan(one[name]) and math.isnan(other[name])) for name in one
    )


def test_a_port_that_nobody_reads_drops_whole_lines_only():
    port = PseudoTerminal()
    for number in range(3000):
        port.send(b"%06d\r\n" % number)
    import serial

    with serial.Serial(port.name, timeout=0.2) as reading:
        reading.reset_input_buffer()
        for number in range(3000, 3010):
            port.send(b"%06d\r\n" % number)
        lines = reading.read(100).split(b"\r\n")
    # The rest of a line that was under way comes first, then whole lines again.
    assert set(lines[1:-1]) <= {b"%06d" % number for number in range(3000, 3010)}
    assert lines[-2] == b"003009"
    port.close()


@pytest.mark.parametrize(
    ("order", "sent"),
    [
        ("drop", 0),
        ("slow", 4),
        ("freeze", 8),
    ],
)
def test_ordered_faults_of_a_port(order, sent):
    plant = LivePlant(hut())
    printer, lines = LinePrinter(plant, "pairs"), []
    publisher = Publisher(printer, lines.append, Faults([parse_order(order)], lambda: 0.0))
    readings = [plant.next() for _ in range(8)]
    for reading in readings:
        publisher.publish(reading)
    own = [printer.line(reading) for reading in readings]
    assert len(lines) == {"slow": 7}.get(order, sent)
    if order == "slow":
        assert lines == own[:7]
    if order == "freeze":
        assert set(lines) == {own[0]}


def test_a_serial_port_is_printed_on():
    line = Line()
    port = open_port(line.name)
    port.send(b"load_power=5\r\n")
    assert line.receive() == b"load_power=5\r\n"
    port.close()
    line.close()


def test_a_port_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(SourceError, match="can't be opened"):
        open_port(str(tmp_path / "none"))


def test_it_keeps_pace_and_does_not_run_after_what_it_missed():
    clock, read, stopped = [0.0], [], threading.Event()

    def wait(_event, seconds):
        clock[0] += seconds
        return False

    def publish(reading):
        read.append((clock[0], reading.number))
        # One reading takes a minute, as when the computer slept.
        clock[0] += 60.0 if reading.number == 5 else 0.0
        if reading.number == 9:
            stopped.set()

    timing = Timing(monotonic=lambda: clock[0], wait=wait)
    run(LivePlant(hut()), publish, stopped, speed=2.0, timing=timing)
    times = [at for at, _ in read]
    assert times[:6] == [0.0, 0.5, 1.0, 1.5, 2.0, 2.5]
    assert times[6] >= 62.5
    assert times[7:] == [times[6] + step for step in (0.5, 1.0, 1.5)]
