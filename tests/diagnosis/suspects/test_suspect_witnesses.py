"""What decides between meters that tell of the same power, or that stand; and how well a factor is known."""

import numpy as np
import pytest
from suspect_help import gathered, named, suspects

from desktop.diagnosis.suspects import find_suspects
from desktop.diagnosis.suspects.case import Case
from desktop.diagnosis.suspects.quantum import FINEST_W, quantum_of
from desktop.diagnosis.suspects.trials import trials_of
from desktop.opening import demos
from desktop.site import Site
from recordings.recording import Recording
from recordings.tables import read_table


@pytest.fixture(scope="module")
def healthy():
    path = next(demo.path for demo in demos() if demo.path.stem == "healthy-charge")
    return read_table(path), Site.load(path.with_suffix(".toml"))


def of_columns(recording, **changed):
    columns = {name: recording.column(name) for name in recording.channels} | changed
    return Recording.from_columns(
        recording.time, {name: each for name, each in columns.items() if each is not None}
    )


def with_current(recording):
    """With what a shunt would read that agrees with the battery's meter."""
    current = recording.column("battery_power") / recording.column("battery_voltage")
    return of_columns(recording, battery_current=np.round(current, 1).astype(np.float32))


def test_of_two_readings_of_one_power_the_one_that_stands_is_named(healthy):
    recording, site = healthy
    stuck = np.full(len(recording), 1234.0, np.float32)
    (found,) = suspects(of_columns(with_current(recording), battery_power=stuck), site)
    assert (found.channel, found.fault, found.clear) == ("battery_power", "stuck", True)


@pytest.mark.parametrize("factor", [0.1, 10.0])
def test_of_two_readings_of_one_power_the_balance_says_which_is_wrong(healthy, factor):
    recording, site = healthy
    whole = with_current(recording)
    for channel in ("battery_power", "battery_current"):
        found = suspects(of_columns(whole, **{channel: whole.column(channel) * np.float32(factor)}), site)
        assert named(found) == [(channel, "scale")]
        assert found[0].clear
        assert found[0].parameter == pytest.approx(factor, rel=0.05)


def test_a_generator_s_current_is_named_by_its_own_channel(healthy):
    recording, site = healthy
    wrong = recording.column("generator_current") * np.float32(10.0)
    (found,) = suspects(of_columns(recording, generator_current=wrong), site)
    assert (found.channel, found.fault) == ("generator_current", "scale")


def test_a_usual_factor_is_told_with_the_deviation_that_the_readings_give_it(healthy):
    recording, site = healthy
    wrong = recording.column("solar_power") * np.float32(10.0)
    (found,) = suspects(of_columns(recording, solar_power=wrong), site)
    assert found.fault == "scale"
    # Every meter in the balance is known to a percent or two, and none of them better than that together.
    assert 0.005 < found.parameter_sd / found.parameter < 0.15


def test_a_source_that_no_channel_tells_of(healthy):
    recording, site = healthy
    table = {key: value for key, value in site.model_dump(exclude_unset=True).items() if key != "solar"}
    (found,) = suspects(of_columns(recording, solar_power=None), Site.model_validate(table))
    group = {(each.channel, each.fault) for each in (found, *found.rivals)}
    assert ("dc", "unmetered_source") in group


def test_a_wrong_sign_with_a_meter_s_own_error_is_still_a_wrong_sign(healthy):
    recording, site = healthy
    wrong = recording.column("battery_power") * np.float32(-0.975)
    assert named(suspects(of_columns(recording, battery_power=wrong), site)) == [
        ("battery_power", "reversed")
    ]


def test_meters_that_differ_by_skew_alone_are_not_exchanged(healthy):
    recording, site = healthy
    late = recording.column("converter_ac_power").copy()
    late[1:] = late[:-1].copy()
    snapshot, learned = gathered(of_columns(recording, converter_dc_power=late), site)
    case = Case.of(snapshot, learned, site)
    assert case is not None
    pairs = {trial.channel for trial in trials_of(case) if trial.fault == "swapped"}
    assert "converter_ac_power+converter_dc_power" not in pairs
    assert "load_power+solar_power" in pairs


@pytest.mark.parametrize("every", [5, 10, 15])
def test_a_lag_in_a_log_of_few_rows(healthy, every):
    recording, site = healthy
    late = np.concatenate(
        (np.full(50, recording.column("battery_power")[0]), recording.column("battery_power")[:-50])
    )
    rows = of_columns(recording, battery_power=late.astype(np.float32))
    thin = Recording.from_columns(
        rows.time[::every].copy(), {name: rows.column(name)[::every].copy() for name in rows.channels}
    )
    found = suspects(thin, site)
    assert {(each.channel, each.fault) for each in found} <= {("battery_power", "lag")}
    if every < 15:
        assert found
        assert found[0].parameter == pytest.approx(100, abs=2 * every + 10)


@pytest.mark.parametrize(
    ("factor", "offset", "step"), [(1.0, 0.0, 100.0), (1.739, 0.0, 173.9), (1.0, 2162.0, 100.0)]
)
def test_the_steps_of_a_display_show_through_a_factor_and_an_offset(healthy, factor, offset, step):
    recording, site = healthy
    coarse = np.round(recording.column("load_power") / 100) * 100 * factor + offset
    snapshot, _ = gathered(of_columns(recording, load_power=coarse.astype(np.float32)), site)
    row = [meter.channel for meter in snapshot.meters].index("load_power")
    quantum = quantum_of(snapshot)
    assert quantum[row] == pytest.approx(step, rel=1e-3)
    assert quantum[[meter.channel for meter in snapshot.meters].index("generator_power")] <= FINEST_W


def test_next_to_no_meters_on_two_legs(healthy):
    recording, site = healthy
    few = {name: recording.column(name) for name in ("load_power", "solar_power", "battery_voltage")}
    few["dc_load_power"] = np.full(len(recording), 80.0, np.float32)
    few["solar_power"] = few["solar_power"] - np.float32(558)
    two = site.model_dump(exclude_unset=True)
    two["generator"] = {**two["generator"], "legs": 2, "volts": 120.0}
    snapshot, learned = gathered(Recording.from_columns(recording.time, few), Site.model_validate(two))
    found = find_suspects(snapshot, learned, Site.model_validate(two))
    assert all(each.channel in ("solar_power", "dc_load_power") for each in found)


def test_a_small_load_that_hangs_is_seen_by_its_readings(healthy):
    recording, site = healthy
    chance = np.random.default_rng(4)
    small = np.round(120 + 12 * chance.standard_normal(len(recording)))
    solar = recording.column("solar_power") + small
    alive = of_columns(
        recording, dc_load_power=small.astype(np.float32), solar_power=solar.astype(np.float32)
    )
    assert suspects(alive, site) == ()
    hung = of_columns(alive, dc_load_power=np.full(len(recording), 121.0, np.float32))
    assert named(suspects(hung, site)) == [("dc_load_power", "stuck")]


def test_no_converter_gives_more_than_it_takes(healthy):
    recording, site = healthy
    ends = "converter_ac_power", "converter_dc_power"
    one, other = (recording.column(name) for name in ends)
    exchanged = of_columns(recording, **dict(zip(ends, (other, one), strict=True)))
    assert named(suspects(exchanged, site)) == [("converter_ac_power+converter_dc_power", "swapped")]


def test_a_meter_that_stands_while_the_house_moves_hangs_rather_than_that_something_has_no_meter(healthy):
    recording, site = healthy
    stood = np.full(len(recording), 400.0, np.float32)
    (found,) = suspects(of_columns(recording, load_power=stood), site)
    assert (found.channel, found.fault, found.clear) == ("load_power", "stuck", True)
