"""The simulated inverter-charger on a generator: limits, delays, losses, starts and stops."""

import numpy as np
import pytest
from small_plant import small

from drivers.plant.charge_controller import ChargeController
from drivers.plant.inverter import Inverter
from drivers.plant.scenario_parts import Charger
from drivers.plant.scenario_parts import Inverter as InverterNumbers
from drivers.plant.simulation import simulate

KETTLE = [{"name": "kettle", "watts": 2000.0, "at": ["09:10:00"], "run_s": 240.0}]


def at(simulation, seconds, channel):
    return float(simulation.truth.column(channel)[seconds])


def kinds(simulation):
    return [event.kind for event in simulation.events]


def test_of_three_point_seven_kilowatts_two_point_seven_reach_the_battery():
    # Common practice, no source: of 3.7 kW from a generator with 0.7 kW of house load about 2.7 kW reach the
    # battery, a charger of about 90 %.
    inverter = Inverter(InverterNumbers(idle_w=60.0, slope=0.08), 51.2, lambda *_: None)
    assert inverter.dc_of(3000.0) == pytest.approx(2700.0)


def test_conversion_is_the_same_line_in_both_directions():
    inverter = Inverter(InverterNumbers(idle_w=50.0, slope=0.06), 51.2, lambda *_: None)
    assert inverter.dc_of(inverter.ac_of(1234.0)) == pytest.approx(1234.0)
    dc = inverter.dc_of(-1000.0)
    assert -1000.0 - dc == pytest.approx(50.0 + 0.06 * -dc)


def test_a_load_step_overshoots_for_the_back_off_and_the_ramp():
    controller = ChargeController(Charger(back_off_s=10.0, ramp_up_w_s=1e6, ramp_down_w_s=500.0))
    controller.follow(4000.0, 9000.0, 0.25)
    over = 0.0
    while controller.ac_w > 2000.0 + 1e-9:
        controller.follow(2000.0, 9000.0, 0.25)
        over += 0.25
    assert over == pytest.approx(10.0 + 2000.0 / 500.0, abs=0.5)


def test_the_chargers_own_limits_hold_at_once():
    controller = ChargeController(Charger(back_off_s=10.0, ramp_up_w_s=1e6))
    controller.follow(4000.0, 9000.0, 0.25)
    assert controller.follow(4000.0, 1500.0, 0.25) == 1500.0


def test_the_input_goes_over_its_limit_only_while_the_charger_gives_way():
    run = simulate(
        small(
            input={"limit_a": 18.0},
            charger={"limit_a": 80.0, "back_off_s": 8.0, "ramp_down_w_s": 600.0},
            scheduled=KETTLE,
        )
    )
    amperes = run.truth.column("generator_current")
    over = np.flatnonzero(amperes > 18.0)
    assert 599 <= over[0] <= 602
    assert len(over) == over[-1] - over[0] + 1
    assert 8 <= len(over) <= 13
    assert amperes[500] == pytest.approx(18.0 - 0.4, abs=0.1)


def test_the_charge_current_keeps_the_chargers_limit():
    run = simulate(small(charger={"limit_a": 40.0}, input={"limit_a": 25.0}))
    assert at(run, 900, "battery_current") == pytest.approx(40.0, abs=0.2)
    assert run.truth.column("battery_current").max() <= 40.2


def test_start_and_stop_go_through_all_their_stages():
    run = simulate(
        small(
            order=[{"at": "09:01:00", "do": "start"}, {"at": "09:20:00", "do": "stop"}],
            generator={"cool_down_s": 60.0},
        )
    )
    assert kinds(run) == [
        "start", "crank", "running", "transfer_on", "stop", "transfer_off", "cool_down", "stop", "standstill",
    ]  # fmt: skip
    opened = next(event for event in run.events if event.kind == "transfer_off")
    # Relieved first: nothing but house and standby hangs on the set when the switch opens.
    assert opened.value < 400.0
    row = int((opened.time - run.truth.time[0]) // 10**9)
    assert at(run, row + 30, "generator_frequency") > 50.0
    assert at(run, row + 30, "generator_power") == 0.0


def test_without_a_source_the_battery_carries_the_house():
    run = simulate(small(order=[]))
    assert at(run, 600, "generator_power") == 0.0
    assert at(run, 600, "converter_ac_power") == pytest.approx(-at(run, 600, "load_power"))
    assert at(run, 600, "battery_power") < -at(run, 600, "load_power")


def test_a_switched_off_charger_leaves_the_house_on_the_generator():
    run = simulate(small(charger={"enabled": False}))
    assert 0.0 < at(run, 900, "converter_ac_power") < 60.0
    assert at(run, 900, "battery_power") == pytest.approx(0.0, abs=1e-9)
    assert run.truth.column("charger_enabled").max() == 0.0


def test_with_assistance_the_battery_helps_above_the_limit():
    oven = [{"name": "oven", "watts": 3500.0, "at": ["09:10:00"], "run_s": 600.0}]
    run = simulate(small(input={"limit_a": 10.0}, charger={"assist": True}, scheduled=oven))
    assert at(run, 900, "generator_current") == pytest.approx(10.0, abs=0.5)
    assert at(run, 900, "battery_power") < -1000.0


def test_orders_change_the_limits_that_are_reported():
    run = simulate(
        small(order=[{"at": "09:01:00", "do": "start"}, {"at": "09:15:00", "do": "input_limit", "value": 8}])
    )
    assert at(run, 800, "input_limit") == 30.0
    assert at(run, 1000, "input_limit") == 8.0
    assert at(run, 1200, "generator_current") == pytest.approx(7.6, abs=0.1)


def test_the_set_starts_and_stops_by_state_of_charge():
    run = simulate(
        small(
            order=[],
            auto={"start_soc": 39.9, "stop_soc": 42.0},
            generator={"cool_down_s": 20.0},
            charger={"limit_a": 90.0, "rated_w": 5000.0},
        )
    )
    told = kinds(run)
    assert told.count("crank") == 1
    assert told[-1] == "standstill"
    assert run.truth.column("battery_soc").max() == pytest.approx(42.0, abs=0.4)


def test_when_the_grid_fails_the_set_takes_over():
    run = simulate(
        small(
            grid={"live": True},
            auto={"grid_lost_s": 30.0, "grid_back_s": 60.0},
            order=[
                {"at": "09:05:00", "do": "grid", "value": 0},
                {"at": "09:18:00", "do": "grid", "value": 1},
            ],
        )
    )
    grid, generator = run.truth.column("grid_power"), run.truth.column("generator_power")
    assert grid[200] > 0.0
    assert generator[200] == 0.0
    assert grid[600] == 0.0
    assert generator[600] > 0.0
    assert grid[1500] > 0.0
    assert not ((grid != 0.0) & (generator != 0.0)).any()


def test_each_leg_is_held_below_the_limit():
    run = simulate(
        small(
            generator={"volts": 120.0, "hz": 60.0, "rated_w": 7200.0},
            house={"legs": 2, "base_w": [1500.0, 200.0], "flicker": 0.0},
            input={"limit_a": 25.0},
            charger={"limit_a": 200.0, "rated_w": 9000.0},
            battery={"capacity_kwh": 30.0},
        )
    )
    first, second = (at(run, 900, f"generator_current_l{leg}") for leg in (1, 2))
    assert first == pytest.approx(24.6, abs=0.2)
    assert first - second == pytest.approx(1300.0 / 120.0, rel=0.06)


def test_an_empty_battery_leaves_the_house_dark():
    run = simulate(small(order=[], battery={"soc": 1.0}, house={"base_w": [1500.0]}))
    assert "battery_empty" in kinds(run)
    assert at(run, 1700, "load_power") == 0.0
    assert run.truth.column("battery_soc").min() >= 0.0


def test_progress_rises_to_one():
    heard = []
    simulate(small(), progress=heard.append)
    assert heard == sorted(heard)
    assert heard[0] == 0.0
    assert heard[-1] == 1.0
