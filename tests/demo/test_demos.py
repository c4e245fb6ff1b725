"""Every demo recording, read from its file as a user's would be: the review says what truly happened."""

import tomllib
from functools import lru_cache

import pytest

from desktop.opening import default_demo, demos, open_recording
from desktop.review import review
from drivers.plant.export import scenario
from drivers.plant.simulation import simulate

NAMES = sorted(demo.path.stem for demo in demos())


@lru_cache
def reviewed(name):
    (demo,) = (demo for demo in demos() if demo.path.stem == name)
    return review(*open_recording([demo.path]))


def index():
    folder = default_demo().parent
    table = tomllib.loads((folder / "index.toml").read_text(encoding="utf-8"))
    return {entry["name"]: entry for entry in table["demo"]}


def test_there_is_a_demo_for_every_lesson():
    assert set(NAMES) == set(index())
    assert set(NAMES) >= {
        "healthy-charge",
        "limit-too-high",
        "load-step",
        "reversed-battery-meter",
        "lead-acid-absorption",
        "two-overcast-days",
    }
    assert default_demo().stem == "healthy-charge"


def test_demos_stay_small():
    sizes = [demo.path.stat().st_size for demo in demos()]
    assert max(sizes) < 500_000
    assert sum(sizes) < 3_000_000


@pytest.mark.parametrize("name", NAMES)
def test_the_findings_are_the_truth_and_no_others(name):
    entry, found = index()[name], [finding.kind for finding in reviewed(name).findings]
    assert set(entry["truth"]) <= set(found)
    assert set(found) <= set(entry["truth"]) | set(entry["may"])
    assert len(found) == len(set(found)) or name == "two-overcast-days"


@pytest.mark.parametrize("name", NAMES)
def test_nothing_was_repaired_or_ignored_on_the_way_in(name):
    provenance = reviewed(name).recording.provenance
    assert provenance.ignored == []
    assert (provenance.repairs.bad_cells, provenance.repairs.duplicates, provenance.repairs.out_of_order) == (
        0,
        0,
        0,
    )


@pytest.mark.parametrize("name", NAMES)
def test_every_run_of_the_generator_is_a_session_that_ended_as_it_did(name):
    run = simulate(scenario(name))
    trips = sum(event.kind == "overload_trip" for event in run.events)
    stops = [session.stop for session in reviewed(name).sessions]
    assert stops.count("under load") == trips
    assert set(stops) <= {"normal", "under load", "still running"}
