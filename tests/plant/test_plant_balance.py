"""Kirchhoff holds in every step, whatever the plant."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_plant import small

from drivers.plant.plant import Plant
from drivers.plant.simulation import simulate

TOLERANCE_W = 1e-9


def watts(least, most):
    return st.floats(least, most, allow_nan=False)


@st.composite
def scenarios(draw):
    legs = draw(st.sampled_from([1, 2, 3]))
    sections = {
        "seed": draw(st.integers(0, 1000)),
        "place": {
            "start": draw(st.sampled_from(["2025-06-05T11:50:00", "2025-12-05T23:00:00"])),
            "hours": 0.1,
        },
        "house": {"legs": legs, "base_w": [draw(watts(0.0, 2500.0)) for _ in range(legs)]},
        "battery": {
            "chemistry": draw(st.sampled_from(["lfp", "nmc", "flooded", "agm", "gel"])),
            "nominal_v": draw(st.sampled_from([12.0, 24.0, 48.0])),
            "soc": draw(watts(0.0, 100.0)),
        },
        "input": {"limit_a": draw(watts(1.0, 60.0)), "accept_s": 3.0},
        "charger": {
            "assist": draw(st.booleans()),
            "enabled": draw(st.booleans()),
            "limit_a": draw(watts(5.0, 150.0)),
        },
        "generator": {
            "crank_s": 1.0,
            "rated_w": draw(watts(1500.0, 12000.0)),
            "tank_percent": draw(watts(0.1, 3.0)),
        },
        "order": [],
    }
    if draw(st.booleans()):
        sections["solar"] = {
            "rated_w": draw(watts(100.0, 9000.0)),
            "coupling": draw(st.sampled_from(["dc", "ac"])),
            "cover": draw(watts(0.0, 1.0)),
            "passing_s": 20.0,
        }
    if draw(st.booleans()):
        sections["grid"] = {"live": draw(st.booleans()), "export": draw(st.booleans())}
    if draw(st.booleans()):
        sections["dc_loads"] = {"base_w": draw(watts(0.0, 800.0))}
    return small(**sections), draw(st.lists(st.sampled_from(["start", "stop", "kill", "grid"]), max_size=4))


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(scenarios())
def test_both_buses_and_the_converter_close_in_every_step(drawn):
    scenario, deeds = drawn
    plant = Plant(scenario)
    deed = {
        "start": plant.start_generator,
        "stop": plant.stop_generator,
        "kill": plant.kill_generator,
        "grid": lambda: setattr(plant, "grid_live", not plant.grid_live and scenario.grid is not None),
    }
    plant.start_generator()
    for step in range(240):
        if step % 50 == 49 and deeds:
            deed[deeds.pop()]()
        closes(plant.step(plant.step_s), scenario)


def closes(truth, scenario):
    ac = (
        truth["generator_power"]
        + truth["grid_power"]
        + truth["solar_ac_power"]
        - truth["load_power"]
        - truth["converter_ac_power"]
    )
    dc = truth["solar_power"] + truth["converter_dc_power"] - truth["battery_power"] - truth["dc_load_power"]
    inverts = truth["converter_ac_power"] < 0.0
    through = -truth["converter_dc_power"] if inverts else truth["converter_ac_power"]
    assert abs(ac) < TOLERANCE_W
    assert abs(dc) < TOLERANCE_W
    assert truth["loss_power"] == pytest.approx(
        truth["converter_ac_power"] - truth["converter_dc_power"], abs=TOLERANCE_W
    )
    if truth["converter_ac_power"] or truth["converter_dc_power"]:
        loss = scenario.inverter.idle_w + scenario.inverter.slope * through
        assert truth["loss_power"] == pytest.approx(loss, abs=1e-6)
    assert truth["battery_voltage"] * truth["battery_current"] == pytest.approx(
        truth["battery_power"], abs=1e-8
    )
    for name in ("load_power", "solar_power", "solar_ac_power", "dc_load_power"):
        assert truth[name] >= 0.0


def test_true_energies_close_and_the_truth_has_the_same_sums():
    run = simulate(
        small(
            solar={"rated_w": 2000.0, "cover": 0.4},
            dc_loads={},
            place={"hours": 1.0},
        )
    )
    net = {name: into - out for name, (into, out) in run.energy_wh.items()}
    assert net["generator_power"] == pytest.approx(net["load_power"] + net["converter_ac_power"], abs=1e-6)
    assert net["converter_ac_power"] == pytest.approx(net["converter_dc_power"] + net["loss_power"], abs=1e-6)
    assert net["solar_power"] + net["converter_dc_power"] == pytest.approx(
        net["battery_power"] + net["dc_load_power"], abs=1e-6
    )
    by_rows = float(run.truth.column("generator_power").astype(float).sum()) / 3600.0
    assert by_rows == pytest.approx(net["generator_power"], rel=0.002)


def test_an_array_on_the_ac_side_never_drives_the_generator():
    run = simulate(
        small(
            place={"start": "2025-06-05T12:00:00"},
            order=[{"at": "12:01:00", "do": "start"}],
            solar={"rated_w": 6000.0, "coupling": "ac"},
            battery={"soc": 99.0},
        )
    )
    assert run.truth.column("generator_power").min() >= 0.0
    assert run.truth.column("solar_ac_power").max() > 0.0


def test_with_export_the_surplus_goes_to_the_grid():
    run = simulate(
        small(
            place={"start": "2025-06-05T12:00:00"},
            order=[],
            grid={"live": True, "export": True},
            solar={"rated_w": 6000.0, "coupling": "ac"},
            battery={"soc": 99.5},
        )
    )
    assert run.truth.column("grid_power").min() < -1000.0
