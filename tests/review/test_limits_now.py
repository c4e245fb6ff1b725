"""Values held against their limits: the same thresholds as the diagnosis, shown beforehand."""

import math
from dataclasses import dataclass, replace

import pytest

from desktop.diagnosis.plant import Plant
from desktop.review.limits import Flows, limits
from desktop.review.moment import BatteryNow, GeneratorNow
from desktop.site import Site

NAN = math.nan

SITE = Site.parse(
    """
[generator]
rated_w = 7500
volts = 230
hz = 50
[charger]
limit_a = 80
[battery]
chemistry = "lfp"
nominal_v = 51.2
absorb_v = 56.8
max_charge_a = 100
max_charge_c = 45
"""
)


@dataclass(frozen=True)
class Facts:
    interval_s: float = 1.0
    gap_s: float = 60.0
    volts: float | None = 230.0
    hz: float | None = 50.0


PLANT = Plant.of(Facts(), SITE)
RUNNING = GeneratorNow(True, 226.0, 20.0, 49.5, (), (), 25.0, 5750.0, False, False)
CHARGING = BatteryNow(53.0, 70.0, 63.0, 18.0, 80.0, 20.0)
FLOWS = Flows(generator=4600.0, charger=3500.0, battery=3710.0, charge_limit_a=80.0)


def found(generator=RUNNING, battery=CHARGING, flows=FLOWS, plant=PLANT, has_generator=True):
    shown = limits(plant, generator, battery, flows, has_generator=has_generator)
    return {limit.key: limit for limit in shown}


def test_a_healthy_charge_is_within_all_limits():
    shown = found()
    assert list(shown) == [
        "input_current",
        "generator_load",
        "charge_current",
        "battery_voltage",
        "battery_temperature",
        "generator_frequency",
        "generator_voltage",
    ]
    assert {limit.state for limit in shown.values()} == {"ok"}
    assert shown["generator_load"].value == pytest.approx(100 * 4600 / 7500)
    assert shown["charge_current"].upper == 80


@pytest.mark.parametrize(
    ("amperes", "state"), [(22.0, "ok"), (22.6, "near"), (25.5, "near"), (26.5, "over"), (NAN, "not known")]
)
def test_input_current_is_over_where_the_diagnosis_says_so(amperes, state):
    # 2 % is the assumed class of a meter: two standard deviations above the limit are still the limit.
    assert found(generator=replace(RUNNING, current=amperes))["input_current"].state == state


def test_each_metered_leg_is_judged_by_itself():
    legs = replace(RUNNING, leg_currents=(26.5, 9.0), leg_voltages=(118.0, 90.0))
    shown = found(generator=legs, plant=replace(PLANT, volts=120.0))
    assert shown["input_current_l1"].state == "over"
    assert shown["input_current_l2"].state == "ok"
    assert shown["generator_voltage_l1"].state == "ok"
    assert shown["generator_voltage_l2"].state == "over"
    assert str(shown["input_current_l1"].label) == "Input current L1"


def test_the_nearer_of_charger_limit_and_battery_maximum_is_shown():
    by_battery = found(battery=replace(CHARGING, current=98.0))["charge_current"]
    assert (by_battery.value, by_battery.upper, by_battery.state) == (98.0, 100.0, "near")
    by_charger = found(flows=replace(FLOWS, charger=4500.0))["charge_current"]
    assert by_charger.upper == 80
    assert by_charger.state == "over"
    giving = found(
        battery=replace(CHARGING, current=-40.0), flows=replace(FLOWS, charger=-2000.0, battery=-2100.0)
    )
    assert giving["charge_current"].value == 0


def test_temperatures_bind_charging_only():
    cold = replace(CHARGING, temperature=-4.0)
    assert found(battery=cold)["battery_temperature"].state == "over"
    idle = replace(FLOWS, battery=-300.0)
    assert found(battery=cold, flows=idle)["battery_temperature"].state == "ok"
    assert found(battery=replace(CHARGING, temperature=2.0))["battery_temperature"].state == "near"


def test_a_standing_set_is_not_judged_by_frequency():
    still = replace(RUNNING, running=False, frequency=0.0, voltage=3.0)
    shown = found(generator=still)
    assert shown["generator_frequency"].state == shown["generator_voltage"].state == "ok"
    slow = found(generator=replace(RUNNING, frequency=48.0))
    assert slow["generator_frequency"].state == "over"


def test_without_limits_nothing_is_claimed():
    bare = Plant.of(Facts(volts=None, hz=None), Site())
    shown = found(
        generator=replace(RUNNING, limit_a=None, limit_w=None),
        flows=replace(FLOWS, charge_limit_a=NAN),
        plant=bare,
    )
    assert {limit.state for limit in shown.values()} == {"not known"}
    assert all(math.isfinite(limit.lowest) and math.isfinite(limit.highest) for limit in shown.values())
    assert all(limit.lowest < limit.highest for limit in shown.values())


def test_a_plant_without_generator_has_no_generator_limits():
    assert not any(key.startswith(("input", "generator")) for key in found(has_generator=False))
