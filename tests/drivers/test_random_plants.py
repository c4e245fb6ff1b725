"""Plants drawn at random run, keep to Kirchhoff, and end as they were meant to; faults touch only their meters."""

import numpy as np
import pytest
from meter_faults import KINDS, MeterFault, with_fault, with_gaps
from random_faults import random_faults
from random_plants import random_plant

from drivers.plant.plant import Plant
from drivers.plant.simulation import simulate

ENDS = {
    "normal": {"cool_down"},
    "no cool-down": {"cool_down"},
    "dry tank": {"out_of_fuel"},
    "killed": {"kill"},
    "overload": {"overload_trip", "underspeed_trip"},
}


def seeds_of(values, name):
    return {getattr(value, name) for value in values}


def test_the_same_seed_gives_the_same_plant_and_another_one_another():
    assert random_plant(7) == random_plant(7)
    assert random_plant(7) != random_plant(8)


def test_plants_are_of_all_kinds():
    plants = [random_plant(seed) for seed in range(120)]
    generators = [plant.generator for plant in plants]
    assert seeds_of((plant.house for plant in plants), "legs") == {1, 2, 3}
    assert seeds_of(generators, "hz") == {50.0, 60.0}
    assert seeds_of(generators, "volts") == {120.0, 230.0}
    assert seeds_of(generators, "fuel") >= {"diesel", "gasoline", "propane"}
    assert min(one.rated_w for one in generators) < 3000 < 15000 < max(one.rated_w for one in generators)
    assert seeds_of((plant.battery for plant in plants), "chemistry") == {
        "lfp",
        "nmc",
        "flooded",
        "agm",
        "gel",
    }
    assert {plant.solar and plant.solar.coupling for plant in plants} == {None, "dc", "ac"}
    intervals = {plant.log.interval_s for plant in plants}
    assert min(intervals) == 1.0
    assert max(intervals) == 300.0
    assert {"converter_dc_power" in plant.log.channels for plant in plants} == {True, False}


@pytest.mark.parametrize("seed", range(6))
def test_powers_balance_in_every_step(seed):
    plant = Plant(random_plant(seed, hours=1.0))
    while plant.now < 3600.0:
        truth = plant.step(plant.step_s)
        ac = (
            truth["generator_power"]
            + truth["solar_ac_power"]
            - truth["load_power"]
            - truth["converter_ac_power"]
        )
        dc = (
            truth["solar_power"]
            + truth["converter_dc_power"]
            - truth["battery_power"]
            - truth["dc_load_power"]
        )
        assert abs(ac) < 1e-8
        assert abs(dc) < 1e-8


@pytest.mark.parametrize("ending", ["normal", "no cool-down", "dry tank", "killed", "overload"])
def test_most_runs_end_as_they_were_meant_to(ending):
    seeds = range(40, 45)
    ended = [simulate(random_plant(seed, hours=1.2, ending=ending, interval_s=60.0)).events for seed in seeds]
    as_meant = [
        any(event.kind in ENDS[ending] and event.what != "order" for event in events) for events in ended
    ]
    assert sum(as_meant) >= 3


def test_what_is_recorded_is_what_the_scenario_names():
    plant = random_plant(3, hours=1.0, interval_s=10.0, full_meters=True)
    recording = simulate(plant).recording
    assert set(recording.channels) <= set(plant.log.channels)
    assert {"generator_power", "load_power", "battery_power"} <= set(recording.channels)
    assert len(recording) == 361


@pytest.fixture(scope="module")
def recorded():
    return simulate(random_plant(3, hours=1.0, interval_s=10.0, full_meters=True)).recording


def test_faults_change_only_the_meters_that_they_are_of(recorded):
    faults = random_faults(random_plant(3, full_meters=True), recorded.channels, 3, len(KINDS))
    assert {fault.kind for fault in faults} >= {"reversed", "scale", "offset", "stuck", "swapped", "lag"}
    for fault in faults:
        legs = {fault.channel: recorded.column(fault.channel) * 0.4}
        changed = with_fault(recorded, fault, legs)
        touched = {fault.channel, fault.other}
        for name in recorded.channels:
            if name not in touched:
                assert np.array_equal(changed.column(name), recorded.column(name), equal_nan=True)


def test_a_fault_holds_only_while_it_lasts(recorded):
    fault = MeterFault("scale", "load_power", 3.0, since=0.5, until=0.75)
    before, after = recorded.column("load_power"), with_fault(recorded, fault).column("load_power")
    first, last = round(0.5 * len(before)), round(0.75 * len(before))
    assert np.array_equal(after[:first], before[:first])
    assert np.array_equal(after[last:], before[last:])
    assert after[first:last] == pytest.approx(3.0 * before[first:last])


def test_a_late_meter_shows_what_was_so_before(recorded):
    late = with_fault(recorded, MeterFault("lag", "battery_power", 50.0))
    assert np.array_equal(late.column("battery_power")[5:], recorded.column("battery_power")[:-5])


def test_gaps_leave_both_ends_and_all_channels(recorded):
    for seed in range(5):
        holed = with_gaps(recorded, np.random.default_rng(seed))
        assert holed.channels == recorded.channels
        assert holed.time[0] == recorded.time[0]
        assert holed.time[-1] == recorded.time[-1]
        assert len(holed) <= len(recorded)
