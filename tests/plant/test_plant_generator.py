"""The simulated set: speed, voltage, overload, fuel, and the course from cranking to standstill."""

import random

import pytest

from drivers.plant.breaker import Breaker
from drivers.plant.engine import Engine
from drivers.plant.generator import Generator
from drivers.plant.scenario_parts import Generator as Numbers
from drivers.plant.tank import Tank
from drivers.plant.transfer import Transfer


def numbers(**changed):
    usual = {"rated_w": 6000.0, "fuel_half_load": 1.4, "fuel_full_load": 2.3, "tank": 30.0}
    return Numbers(**(usual | changed))


class Bench:
    """A set on the test bench, with a load that is put on it."""

    def __init__(self, **changed):
        self.told = []
        self.set = Generator(numbers(**changed), 1, random.Random(1), lambda kind, *_: self.told.append(kind))
        self.set.start()
        self.run(0.0, 300.0)

    def run(self, watts, seconds, dt=0.25):
        for _ in range(round(seconds / dt)):
            self.set.run(watts, watts / max(self.set.voltage, 1.0), dt)

    def mean_hz(self, watts, seconds=60.0):
        self.run(watts, 10.0)
        read = []
        for _ in range(round(seconds / 0.25)):
            self.run(watts, 0.25)
            read.append(self.set.frequency)
        return sum(read) / len(read)


@pytest.mark.parametrize(("hz", "droop", "no_load"), [(60.0, 0.05, 63.0), (50.0, 0.03, 51.5)])
def test_droop_from_no_load_to_full_load_is_the_setting(hz, droop, no_load):
    # ISO 8528-5 droop of 5 % at 60 Hz and 3 % at 50 Hz, reckoned from full load.
    bench = Bench(hz=hz, droop=droop, trip_s=100.0, warm_up_s=60.0)
    assert bench.mean_hz(0.0) == pytest.approx(no_load, abs=0.02)
    assert bench.mean_hz(6000.0) == pytest.approx(hz, abs=0.02)


def test_half_load_lies_half_way():
    bench = Bench(droop=0.04, no_load_hz=51.0)
    assert bench.mean_hz(3000.0) == pytest.approx(50.0, abs=0.02)


def test_a_load_step_dips_below_the_speed_that_it_settles_at():
    engine = Engine(0.04)
    engine.speed = 1.04
    engine.turn(0.0, 1.1, 1.04, 1.0)
    speeds = []
    for _ in range(100):
        engine.turn(0.7, 1.1, 1.04, 0.05)
        speeds.append(engine.speed)
    assert min(speeds) < 1.04 - 0.04 * 0.7 - 0.002
    assert speeds[-1] == pytest.approx(1.04 - 0.04 * 0.7, abs=1e-3)


def test_steps_of_any_length_end_at_the_same_speed():
    ends = []
    for dt in (0.05, 0.25, 1.0):
        engine = Engine(0.03)
        engine.speed = 1.0
        for _ in range(round(20 / dt)):
            engine.turn(0.5, 1.1, 1.03, dt)
        ends.append(engine.speed)
    assert ends == pytest.approx([1.015] * 3, abs=1e-4)


@pytest.mark.parametrize("multiple", [1.1, 1.25, 1.5, 2.0])
def test_the_breaker_follows_its_inverse_curve(multiple):
    # IEC 60255-151, extremely inverse: t = multiplier · 80 / (M² − 1); quoted from memory.
    breaker, dt, seconds = Breaker(0.2), 0.05, 0.0
    while not breaker.carry(multiple, dt):
        seconds += dt
    assert seconds == pytest.approx(0.2 * 80.0 / (multiple**2 - 1.0), abs=2 * dt)


def test_the_breaker_carries_its_rating_for_ever():
    breaker = Breaker(0.2)
    assert not any(breaker.carry(1.0, 10.0) for _ in range(100_000))


def test_an_overload_that_the_engine_can_give_ends_in_a_trip():
    bench = Bench(capability=1.4, trip_s=0.1)
    bench.run(5000.0, 10.0)
    bench.run(7500.0, 30.0)
    assert "overload_trip" in bench.told
    assert bench.set.state == "off"
    assert bench.set.frequency == bench.set.voltage == 0.0


def test_an_overload_beyond_the_engine_bogs_it_down():
    bench = Bench(capability=1.1, trip_s=10.0)
    bench.run(9000.0, 2.0)
    assert bench.set.frequency < 46.0
    assert bench.set.voltage < 0.95 * 230.0
    bench.run(9000.0, 20.0)
    assert "underspeed_trip" in bench.told


def test_voltage_drops_with_load_as_set():
    bench = Bench(voltage_drop=0.04, trip_s=100.0)
    assert bench.set.voltage == pytest.approx(230.0, abs=0.1)
    bench.run(6000.0, 10.0)
    assert bench.set.voltage == pytest.approx(230.0 * 0.96, abs=0.2)


def test_a_cold_set_is_slower_and_less_steady():
    def spread(bench):
        read = []
        for _ in range(80):
            bench.run(1500.0, 0.25)
            read.append(bench.set.frequency)
        return sum(read) / len(read), max(read) - min(read)

    bench = Bench(warm_up_s=120.0)
    warm, steady = spread(bench)
    bench = Bench.__new__(Bench)
    bench.told = []
    bench.set = Generator(numbers(warm_up_s=120.0), 1, random.Random(1), lambda *_: None)
    bench.set.start()
    bench.run(0.0, 10.0)
    cold, hunting = spread(bench)
    assert cold < warm - 0.3
    assert hunting > 2.0 * steady


def test_fuel_is_a_straight_line_through_half_and_full_load():
    # Straight line through the 20 kW row of an approximate diesel chart: F = 0.95 + 0.258 P litres per hour;
    # 5.2 kW for 2.087 h burn 4.7826 litres.
    tank = Tank(100.0, 100.0, 0.95 + 0.258 * 10.0, 0.95 + 0.258 * 20.0)
    for _ in range(1000):
        tank.burn(5.2 / 20.0, 2.087 * 3.6)
    assert tank.burnt == pytest.approx(4.7826, abs=1e-3)
    assert tank.left == pytest.approx(100.0 - tank.burnt)


def test_running_dry_sags_and_stops_under_load():
    bench = Bench(tank=1.0, tank_percent=15.0, capability=1.1)
    before = bench.mean_hz(4000.0, 5.0)
    lowest = before
    while bench.set.state == "running":
        bench.run(4000.0, 0.25)
        lowest = min(lowest, bench.set.frequency)
    assert bench.told[-1] == "out_of_fuel"
    assert lowest < before - 4.0
    assert bench.set.tank.percent == 0.0
    bench.run(0.0, 20.0)
    bench.set.start()
    assert bench.set.state == "off"


def test_a_normal_stop_cools_down_without_load_first():
    bench = Bench(cool_down_s=60.0)
    bench.run(3000.0, 20.0)
    bench.set.let_down()
    bench.run(0.0, 55.0)
    assert bench.set.state == "cooling"
    assert bench.set.frequency > 50.0
    bench.run(0.0, 20.0)
    assert bench.set.state == "off"
    assert bench.told == ["crank", "running", "cool_down", "stop", "standstill"]


def test_the_switch_takes_a_source_only_after_it_was_good_for_a_while():
    switch = Transfer(15.0)
    for _ in range(56):
        switch.watch(1.0, 1.0, 0.25)
    switch.watch(1.2, 1.0, 0.25)
    for _ in range(59):
        switch.watch(1.0, 1.0, 0.25)
        assert not switch.closed
    switch.watch(1.0, 1.0, 0.25)
    assert switch.closed
    switch.watch(0.0, 0.0, 0.25)
    assert not switch.closed
