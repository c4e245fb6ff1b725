"""The demo recordings come from their scenarios, byte for byte, and their sheets fit."""

import tomllib
from pathlib import Path

import pytest

from desktop.diagnosis.finding import SEVERITY_OF
from desktop.site import Site
from drivers.plant import export
from drivers.plant.simulation import simulate
from recordings.tables import read_table

DEMO = Path(__file__).resolve().parents[2] / "recordings" / "demo"
SMALL = ["limit-too-high", "load-step"]
OTHERS = [name for name in export.scenario_names() if name not in SMALL]


def same_again(name, folder):
    export.run(name, folder / f"{name}.csv")
    for ending in ("csv", "toml"):
        made, kept = folder / f"{name}.{ending}", DEMO / f"{name}.{ending}"
        assert made.read_bytes() == kept.read_bytes(), f"{kept.name} isn't what its scenario gives"


@pytest.mark.parametrize("name", SMALL)
def test_small_demos_are_what_their_scenarios_give(name, tmp_path):
    same_again(name, tmp_path)


@pytest.mark.parametrize("name", [*SMALL, "reversed-battery-meter"])
def test_what_was_written_reads_back_as_it_was(name):
    made, read = simulate(export.scenario(name)).recording, read_table(DEMO / f"{name}.csv")
    assert read.channels == made.channels
    assert read.time.tobytes() == made.time.tobytes()
    for channel in made.channels:
        assert read.column(channel).tobytes() == made.column(channel).tobytes()


@pytest.mark.slow
@pytest.mark.parametrize("name", OTHERS)
def test_all_demos_are_what_their_scenarios_give(name, tmp_path):
    same_again(name, tmp_path)


def test_the_index_lists_every_demo_and_nothing_else():
    text = (DEMO / "index.toml").read_text(encoding="utf-8")
    index = tomllib.loads(text)
    names = [demo["name"] for demo in index["demo"]]
    assert text == export.index_text()
    assert names == export.scenario_names()
    assert index["default"] == names[0]
    assert {path.stem for path in DEMO.glob("*.csv")} == set(names)
    for demo in index["demo"]:
        assert set(demo["truth"]) | set(demo["may"]) <= set(SEVERITY_OF)
        assert demo["title"]
        assert demo["look_for"]


@pytest.mark.parametrize("name", export.scenario_names())
def test_sheets_are_valid_and_say_what_to_look_for(name):
    text = (DEMO / f"{name}.toml").read_text(encoding="utf-8")
    site = Site.parse(text, name)
    assert text.startswith("# ")
    assert site.site.name
    assert site.given("battery", "capacity_kwh")
    assert (DEMO / f"{name}.csv").stat().st_size < 520_000


def test_all_demos_together_stay_small():
    assert sum(path.stat().st_size for path in DEMO.iterdir()) < 3_000_000


def test_the_demos_tell_the_stories_that_they_are_named_for():
    def told(name):
        run = simulate(export.scenario(name))
        return run, [event.kind for event in run.events]

    run, kinds = told("limit-too-high")
    assert {"overload_trip", "underspeed_trip"} & set(kinds)
    assert run.truth.column("generator_frequency")[1100:1170].max() > 58.0
    run, kinds = told("load-step")
    over = (run.truth.column("generator_current") > 30.0).sum()
    assert 12 <= over <= 16
    assert "overload_trip" not in kinds
    run, kinds = told("healthy-charge")
    assert run.truth.column("generator_current").max() <= 24.0
    assert {"cool_down", "standstill"} <= set(kinds)
    run, kinds = told("lead-acid-absorption")
    assert kinds.count("stage") >= 1
    assert run.truth.column("generator_power")[-700:-400].max() < 0.5 * 6000.0
