"""What is said in place of what explains readings about as well, and what is left beside it."""

from types import SimpleNamespace

import numpy as np
import pytest
from suspect_help import gathered, named, suspects

from desktop.diagnosis.suspects.case import SCATTER, Case
from desktop.diagnosis.suspects.judging import healthy
from desktop.diagnosis.suspects.rivals import grouped
from desktop.diagnosis.suspects.verdict import BEYOND_HEALTHY, find_suspects, tried
from desktop.site import Site
from recordings.recording import Recording


def outcome(fault, cost, *, parameter=np.nan, penalty=1.0, channel="generator_power", bus=""):
    trial = SimpleNamespace(
        fault=fault, channel=channel, penalty=penalty, meters=() if bus else (0,), runs=None, bus=bus
    )
    system = SimpleNamespace(
        y=np.ones(1),
        weight=np.ones(1),
        equations=[SimpleNamespace(weights=np.ones(1), buses=("ac",))],
        equation=np.zeros(1, int),
    )
    return SimpleNamespace(
        trial=trial, cost=cost, rank=cost, parameter=parameter, system=system, left=np.zeros(1), stands=0.0
    )


@pytest.mark.parametrize(
    ("factor", "said"), [(-0.93, "reversed"), (-0.8, "reversed"), (-1.3, "reversed"), (-0.6, "scale")]
)
def test_turned_round_and_a_little_off_is_turned_round(factor, said):
    turned = outcome("reversed", 110.0)
    scaled = outcome("scale", 100.0, parameter=factor, penalty=4.0)
    found = grouped(scaled, [scaled, turned], outcome("healthy", 700.0))
    assert [each.trial.fault for each in found] == [said]


@pytest.mark.parametrize(("cost", "left"), [(95.0, ["scale"]), (47.0, ["scale", "unmetered_source"])])
def test_what_is_a_factor_as_well_as_one_leg_has_the_rivals_of_a_factor(cost, left):
    leg = outcome("one_leg", 43.0, parameter=0.69, penalty=5.0)
    scaled = outcome("scale", 44.0, parameter=0.69, penalty=4.0)
    source = outcome("unmetered_source", cost, parameter=540.0, penalty=6.0, channel="ac", bus="ac")
    found = grouped(leg, [leg, scaled, source], outcome("healthy", 540.0))
    assert [each.trial.fault for each in found] == left


def inverting(swap=()):
    """An hour of rows each five seconds of an inverter: what both its ends and the battery read is little apart."""
    chance = np.random.default_rng(7)
    house = 300.0 + 60.0 * np.sin(np.arange(720) / 50)
    drawn = house / 0.94 + 30.0
    columns = {
        "load_power": house,
        "converter_ac_power": -house,
        "converter_dc_power": -drawn,
        "battery_power": -drawn,
    }
    columns = {name: np.round(values + chance.normal(0, 5, 720)) for name, values in columns.items()}
    if swap:
        one, other = swap
        columns[one], columns[other] = columns[other], columns[one]
    return Recording.from_columns(np.arange(720, dtype=np.int64) * 5 * 10**9, columns)


def test_two_meters_that_read_little_apart_are_told_when_exchanged():
    names = ("load_power", "converter_ac_power", "converter_dc_power", "battery_power")
    meters = {name: {"percent": 1.0, "floor_w": 5.0} for name in names}
    site = Site.of({"inverter": {"rated_w": 5000}, "meters": meters})
    assert suspects(inverting(), site) == ()
    found = suspects(inverting(("battery_power", "converter_ac_power")), site)
    assert named(found) == [("converter_ac_power+battery_power", "swapped")]
    assert found[0].clear


def test_of_a_cells_floor_the_more_rows_the_less_is_noise():
    meter = SimpleNamespace(percent=0.0, floor_w=10.0)
    case = SimpleNamespace(
        cells=np.array([0, 1]),
        snapshot=SimpleNamespace(rows=np.array([1.0, 900.0])),
        meters=(meter,),
        told_sd=np.zeros((1, 3)),
    )
    scatter = Case.scatter(case, np.zeros((1, 3)), np.ones(1))
    assert scatter[0] == pytest.approx([10.0, 10.0 * SCATTER, 10.0], rel=0.01)


def test_what_explains_no_more_than_healthy_meters_is_no_rival():
    standing = outcome("stuck", 30.0, channel="battery_power")
    within_its_class = outcome("scale", 34.0, parameter=0.99, penalty=4.0)
    found = grouped(standing, [standing, within_its_class], outcome("healthy", 39.0))
    assert [each.trial.fault for each in found] == ["stuck"]


def resting():
    """Three hours at 10 s: a battery is charged, then it is full. Its meter is off by 20 W, but not at rest."""
    count = 1080
    chance, hour = np.random.default_rng(3), np.arange(count) / 360
    into = np.where(hour < 1.2, 1300.0 + 100.0 * np.sin(40 * hour), 0.0)
    feed = np.where(into > 0, into / 0.94 + 30.0, 30.0)
    house = 400.0 + 50.0 * np.sin(9 * hour)
    columns = {
        "generator_power": house + feed,
        "load_power": house,
        "converter_ac_power": feed,
        "converter_dc_power": into + 12.0,
        "battery_power": np.where(into > 0, into - 20.0, 0.0),
    }
    noisy = {
        name: np.round(values + np.where(values == 0, 0.0, 6.0) * chance.normal(0, 1, count))
        for name, values in columns.items()
    }
    return Recording.from_columns(np.arange(count, dtype=np.int64) * 10 * 10**9, noisy)


def test_a_battery_that_rests_reads_nothing_whatever_its_meter_is_off_by():
    meters = {
        name: {"percent": 0.2, "floor_w": 8.0}
        for name in (
            "generator_power",
            "load_power",
            "converter_ac_power",
            "converter_dc_power",
            "battery_power",
        )
    }
    site = Site.of({"inverter": {"rated_w": 5000}, "meters": meters})
    snapshot, learned = gathered(resting(), site)
    assert find_suspects(snapshot, learned, site) == ()
    case = Case.of(snapshot, learned, site)
    without = healthy(case)
    assert all(without.cost - each.cost < BEYOND_HEALTHY / 2 for each in tried(case, without))
