"""Scenario files: what is refused, and with which words."""

import pytest
from small_plant import SMALL, small

from drivers.plant import export
from drivers.plant.scenario import Scenario
from drivers.plant.simulation import simulate
from recordings.errors import SheetError, UsageError

HEAD = """
[place]
name = "x"
start = 2025-01-01T00:00:00
hours = 1
[battery]
capacity_kwh = 5
"""


def refused(text):
    with pytest.raises(SheetError) as caught:
        Scenario.parse(text, "s.toml")
    line = str(caught.value)
    assert line.startswith("s.toml: ")
    assert "\n" not in line
    return line


def test_the_least_scenario_is_a_battery_somewhere():
    scenario = Scenario.parse(HEAD)
    assert scenario.generator is None
    assert len(simulate(scenario).recording) == 3601


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (HEAD + "[charger]\nlimits_a = 5", ["unknown key charger.limits_a", "nearest known is limit_a"]),
        (HEAD + "[genrator]\nrated_w = 5", ["unknown key genrator", "nearest known is generator"]),
        (HEAD + "[generator]\nrated_w = 5", ["generator.fuel_half_load is missing", "more"]),
        (HEAD + "[solar]\nrated_w = '5'", ["solar.rated_w", "a number without quotes"]),
        (HEAD + "[solar]\nrated_w = -5", ["solar.rated_w", "greater than 0", "-5"]),
        (
            HEAD + "[[cyclic]]\nname = 'f'\nwats = 5\nwatts = 4\non_s = 1\noff_s = 1",
            ["wats of cyclic 1", "is watts"],
        ),
        (HEAD + "[[order]]\nat = 10:00:00\ndo = 'explode'", ["do of order 1", "'start'", '"explode"']),
        (
            HEAD + "[[fault]]\nchannel = 'lod_power'\nkind = 'reversed'",
            ["fault 1", "nearest known is load_power"],
        ),
        (
            HEAD + "[[fault]]\nchannel = 'load_power'\nkind = 'scale'",
            ["fault 1", "a value for the fault scale"],
        ),
        (HEAD + "[log]\nchannels = ['battery_powr']", ["log.channels", "nearest known is battery_power"]),
        (HEAD + "[house]\nlegs = 2\nbase_w = [1, 2, 3]", ["house.base_w with one number or 2"]),
        (
            HEAD.replace("hours = 1", "hours = 1\ntimezone = 'Mars/Base'"),
            ["place.timezone", "a time zone such as"],
        ),
        (
            HEAD
            + "[[random]]\nname = 'k'\nwatts = 5\nper_day = 1\nrun_s = 5\nsince = 20:00:00\nuntil = 06:00:00",
            ["random 1", "a since that is earlier than until"],
        ),
        (HEAD.replace("T00:00:00", "T00:00:00Z"), ["place.start", "without offset"]),
        ("[place\nx = 1", ["is no valid TOML", "line 1"]),
    ],
)
def test_what_is_wrong_is_told_in_one_line(text, words):
    line = refused(text)
    for word in words:
        assert word in line


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(SheetError, match="can't read the scenario"):
        Scenario.load(tmp_path / "none.toml")


def test_an_unknown_name_gets_the_nearest_built_in(tmp_path):
    with pytest.raises(UsageError, match="nearest known is healthy-charge"):
        export.run("healthy-chrge", tmp_path / "x.csv")


def test_a_recording_is_not_written_over_its_own_sheet(tmp_path):
    with pytest.raises(UsageError, match=r"ends in \.csv"):
        export.run("healthy-charge", tmp_path / "x.toml")
    assert not list(tmp_path.iterdir())


def test_the_same_seed_gives_the_same_recording_and_another_seed_another():
    scenario = small(solar={"rated_w": 2000.0, "cover": 0.5})
    one, two, other = simulate(scenario, 4), simulate(scenario, 4), simulate(scenario, 5)
    for channel in one.recording.channels:
        assert one.recording.column(channel).tobytes() == two.recording.column(channel).tobytes()
    assert one.events == two.events
    assert one.energy_wh == two.energy_wh
    assert one.recording.column("load_power").tobytes() != other.recording.column("load_power").tobytes()


def test_without_a_seed_the_scenarios_own_is_taken():
    scenario = Scenario.of(SMALL | {"seed": 12})
    assert simulate(scenario).seed == 12
    assert (
        simulate(scenario).recording.column("load_power").tobytes()
        == simulate(scenario, 12).recording.column("load_power").tobytes()
    )
