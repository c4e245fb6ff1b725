"""What no meter sees, followed from cell to cell; and meters that stand while the plant goes on."""

from types import SimpleNamespace

import numpy as np
import pytest
from suspect_help import named, suspects

from desktop.diagnosis.suspects.runs import runs_of
from desktop.diagnosis.suspects.tracking import Seen, tracked
from desktop.opening import demos
from desktop.site import Site
from recordings.recording import Recording
from recordings.tables import read_table

CELLS = 120


@pytest.fixture(scope="module")
def healthy():
    path = next(demo.path for demo in demos() if demo.path.stem == "healthy-charge")
    return read_table(path), Site.load(path.with_suffix(".toml"))


def told_in_steps(recording, step, **changed):
    """Powers as a coarse display tells them; a channel that is given is put in its place, None for none."""
    columns = {name: recording.column(name) for name in recording.channels} | changed
    read = {name: each for name, each in columns.items() if each is not None}
    for name in read:
        if name.endswith("_power"):
            read[name] = (np.round(read[name] / step) * step).astype(np.float32)
    return Recording.from_columns(recording.time, read)


def seen(power, side=1.0, sigma=20.0):
    count = len(power)
    noise = sigma * np.random.default_rng(7).standard_normal(count)
    many = np.ones(count)
    return Seen(power + noise, sigma * many, many, many, np.log(3000 / sigma) * many, side)


def day():
    return np.maximum(0.0, 1500 * np.sin(np.linspace(-0.3, np.pi + 0.3, CELLS)))


def test_a_course_is_followed_and_costs_less_the_smoother_it_is():
    smooth = tracked(seen(day()))
    assert np.abs(smooth.flows - day()).mean() < 20
    shuffled = tracked(seen(np.random.default_rng(1).permutation(day())))
    steady = tracked(seen(np.full(CELLS, 800.0)))
    nothing = tracked(seen(np.zeros(CELLS)))
    assert nothing.cost < steady.cost < smooth.cost < 0.5 * shuffled.cost
    # What goes on as it was is believed at hardly more than what its noise costs anyway.
    assert steady.cost - nothing.cost < 10


def test_what_feeds_in_does_not_take():
    taking = tracked(seen(-day()))
    assert np.all(taking.flows >= 0)
    assert taking.cost > 5 * tracked(seen(day())).cost
    assert tracked(seen(-day(), side=-1.0)).cost < 0.3 * taking.cost
    either = tracked(seen(np.where(np.arange(CELLS) < CELLS // 2, 700.0, -700.0), side=0.0))
    assert either.cost < 0.3 * taking.cost


def test_a_single_outlier_is_not_followed():
    spoilt = np.full(CELLS, 500.0)
    spoilt[60] = 1500.0
    found = tracked(seen(spoilt))
    assert np.abs(found.flows[62:] - 500).max() < 30


@pytest.mark.parametrize("step", [1.0, 100.0])
def test_a_sun_that_no_meter_sees_is_no_offset(healthy, step):
    recording, site = healthy
    table = {key: value for key, value in site.model_dump(exclude_unset=True).items() if key != "solar"}
    hour = np.linspace(-1.2, 1.0, len(recording))
    sun = 600 * np.maximum(0.0, np.cos(hour * 1.3))
    battery = recording.column("battery_power") - recording.column("solar_power") + sun
    dark = told_in_steps(recording, step, solar_power=None, battery_power=battery.astype(np.float32))
    assert named(suspects(dark, Site.model_validate(table))) == [("dc", "unmetered_source")]


@pytest.mark.parametrize("channel", ["converter_ac_power", "converter_dc_power", "battery_power"])
def test_a_coarse_meter_that_stands_while_all_else_moves_hangs(healthy, channel):
    recording, site = healthy
    stood = np.full(len(recording), np.round(np.median(recording.column(channel)), -2), np.float32)
    (found,) = suspects(told_in_steps(recording, 100.0, **{channel: stood}), site)
    assert (found.channel, found.fault, found.clear) == (channel, "stuck", True)


def test_a_generator_s_meter_rests_where_it_reads_least():
    meter = SimpleNamespace(stream="generator", floor_w=5.0, of_power=True)
    moving = 1500 + 40.0 * np.arange(40)
    read = np.concatenate((np.full(40, 674.0), moving, np.full(40, 2000.0), moving, np.full(40, 674.0)))
    snapshot = SimpleNamespace(
        meters=(meter,),
        low=read[None],
        high=read[None],
        rows=np.full(len(read), 12.0),
        time=np.arange(len(read)) * 60 * 10**9,
        width_s=60.0,
        still=np.full(len(read), np.nan),
    )
    found = runs_of(snapshot, 0, 1.0)
    assert found is not None
    assert found.value.tolist() == [674.0, 2000.0, 674.0]
    assert found.certain.tolist() == [False, True, False]


def test_a_meter_that_never_moved_is_named_before_what_has_no_meter(healthy):
    recording, site = healthy
    (found,) = suspects(told_in_steps(recording, 1.0, solar_power=np.full(len(recording), 20.0)), site)
    assert (found.channel, found.fault, found.parameter) == ("solar_power", "stuck", 20.0)
    assert found.clear
