"""Simulated meters: their class, and faults to order."""

import numpy as np
import pytest
from small_plant import small

from drivers.plant.meters import Class, Meter, class_of
from drivers.plant.scenario import MeterClass
from drivers.plant.simulation import simulate

SPLIT = {
    "house": {"legs": 2, "base_w": [600.0, 200.0]},
    "generator": {"volts": 120.0, "hz": 60.0},
}


def test_noise_gain_and_offset_together_have_the_class_that_is_stated():
    kind = Class(2.0, 15.0, 1.0)
    truth = np.full(200, 1000.0)
    errors = np.concatenate([Meter("load_power", kind, seed).read(truth) - 1000.0 for seed in range(2000)])
    assert errors.std() == pytest.approx(np.hypot(0.02 * 1000.0, 15.0), rel=0.05)
    assert abs(errors.mean()) < 2.0


def test_gain_error_is_drawn_once_and_noise_for_each_reading():
    meter = Meter("load_power", Class(2.0, 10.0, 1.0), 3)
    truth = np.full(20_000, 3000.0)
    read = meter.read(truth)
    assert read.mean() == pytest.approx(3000.0 * meter.gain + meter.offset, abs=0.5)
    assert read.std() == pytest.approx(8.0, rel=0.03)
    assert meter.gain != 1.0


def test_what_is_nothing_reads_nothing_and_one_way_meters_never_less():
    meter = Meter("solar_power", Class(2.0, 15.0, 1.0), 5)
    assert not meter.read(np.zeros(100)).any()
    assert meter.read(np.full(1000, 1.0)).min() >= 0.0


@pytest.mark.parametrize(
    ("channel", "quantum"),
    [
        ("load_power", 1.0),
        ("generator_voltage", 0.1),
        ("battery_current", 0.1),
        ("generator_frequency", 0.01),
    ],
)
def test_readings_are_told_in_steps(channel, quantum):
    meter = Meter(channel, class_of(channel), 1)
    told = meter.told(np.linspace(-20.0, 70.0, 977))
    assert np.allclose(told / quantum, np.round(told / quantum), atol=1e-9)
    assert np.abs(told[told > 0] - np.linspace(-20.0, 70.0, 977)[told > 0]).max() <= quantum / 2 + 1e-9


def test_a_scenario_can_make_a_meter_better_or_worse():
    assert class_of("load_power", MeterClass(percent=0.5)) == Class(0.5, 8.0, 1.0)
    assert class_of("load_power", MeterClass(floor=30.0, quantum=10.0)) == Class(1.0, 30.0, 10.0)


def pair(**fault):
    """The same plant with healthy meters and with a fault."""
    base = SPLIT if fault["kind"] == "one_leg" else {}
    return simulate(small(**base)).recording, simulate(small(**base, fault=[fault])).recording


def test_reversed():
    good, bad = pair(channel="battery_power", kind="reversed")
    assert np.array_equal(bad.column("battery_power"), -good.column("battery_power"))
    assert np.array_equal(bad.column("load_power"), good.column("load_power"))


def test_scale_and_offset():
    good, bad = pair(channel="load_power", kind="scale", value=1.2)
    assert np.allclose(bad.column("load_power"), good.column("load_power") * 1.2, atol=1.2)
    good, bad = pair(channel="battery_power", kind="offset", value=-150.0)
    assert np.allclose(bad.column("battery_power"), good.column("battery_power") - 150.0)


def test_stuck_for_a_time():
    good, bad = pair(channel="generator_power", kind="stuck", since="09:10:00", until="09:15:00")
    read = bad.column("generator_power")
    assert len(set(read[600:901].tolist())) == 1
    assert np.array_equal(read[:601], good.column("generator_power")[:601])
    assert np.array_equal(read[901:], good.column("generator_power")[901:])


def test_missing_for_a_time_is_not_a_number():
    _, bad = pair(channel="load_power", kind="missing", since="09:10:00", until="09:12:00")
    assert np.flatnonzero(np.isnan(bad.column("load_power"))).tolist() == list(range(600, 721))


def test_absent_is_no_channel():
    _, bad = pair(channel="load_power", kind="absent")
    assert "load_power" not in bad


def test_swapped():
    good, bad = pair(channel="load_power", kind="swapped", other="generator_power")
    assert np.array_equal(bad.column("load_power"), good.column("generator_power"))
    assert np.array_equal(bad.column("generator_power"), good.column("load_power"))


def test_one_leg_sees_only_the_first():
    good, bad = pair(channel="load_power", kind="one_leg")
    assert np.median(bad.column("load_power") / good.column("load_power")) == pytest.approx(0.75, abs=0.03)


def test_skew_reads_the_past():
    usual = simulate(small(meters={"generator_power": {"floor": 0.0, "percent": 0.0}}))
    late = simulate(small(meters={"generator_power": {"floor": 0.0, "percent": 0.0, "skew_s": 3.0}}))
    assert np.array_equal(
        late.recording.column("generator_power")[3:], usual.recording.column("generator_power")[:-3]
    )


def test_a_recording_has_the_interval_and_the_channels_that_were_asked_for():
    run = simulate(small(log={"interval_s": 5.0, "channels": ["load_power", "battery_soc"]}))
    assert run.recording.channels == ("load_power", "battery_soc")
    assert set(np.diff(run.recording.time).tolist()) == {5_000_000_000}
    assert len(run.recording) == 361
    assert len(run.truth) == 361
    assert "generator_power" in run.truth
