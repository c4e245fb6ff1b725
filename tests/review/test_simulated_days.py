"""Reviews of simulated days, held against what really flowed."""

from functools import cache
from pathlib import Path

import pytest

import drivers.plant
from desktop.review import Review, review
from desktop.site import Site
from drivers.plant.scenario import Scenario
from drivers.plant.simulation import Simulation, simulate

SCENARIOS = Path(drivers.plant.__file__).parent / "scenarios"

HONEST = (
    "ac-coupled-solar",
    "grid-failure",
    "healthy-charge",
    "lead-acid-absorption",
    "limit-too-high",
    "load-step",
    "two-overcast-days",
    "unequal-legs",
)
"""Scenarios whose meters have their class errors and no fault."""


@cache
def simulated(name: str) -> tuple[Simulation, Review]:
    simulation = simulate(Scenario.load(SCENARIOS / f"{name}.toml"))
    return simulation, review(simulation.recording, Site.parse(simulation.site_toml))


@pytest.mark.parametrize("name", HONEST)
def test_energies_are_the_true_ones_within_the_meters_uncertainty(name):
    simulation, found = simulated(name)
    for stream, amount in found.energy.forward.items():
        true, back = simulation.energy_wh.get(f"{stream}_power", (0.0, 0.0))
        assert amount.wh == pytest.approx(true, abs=2.5 * amount.sd + 5), stream
        if stream in found.energy.backward:
            backward = found.energy.backward[stream]
            assert backward.wh == pytest.approx(back, abs=2.5 * backward.sd + 5), stream


@pytest.mark.parametrize("name", HONEST)
def test_where_all_meters_are_honest_the_powers_add_up(name):
    _, found = simulated(name)
    assert found.balance.in_balance_share > 0.95


def test_a_meter_that_lies_is_put_right_for_the_energies_and_that_is_said():
    simulation, found = simulated("reversed-battery-meter")
    assert found.balance.in_balance_share < 0.5
    assert "Reckoned with the sign of battery power turned" in found.as_text()
    told = found.figures.review.energy.forward["battery"]
    true, _ = simulation.energy_wh["battery_power"]
    assert told.wh == pytest.approx(true, abs=2.5 * told.sd + 5)
    assert "power_unaccounted" in {finding.kind for finding in found.findings}


def test_sessions_are_the_runs_that_really_happened():
    assert [s.stop for s in simulated("healthy-charge")[1].sessions] == ["normal"]
    assert [s.stop for s in simulated("limit-too-high")[1].sessions] == ["under load"]
    assert [s.stop for s in simulated("two-overcast-days")[1].sessions] == ["normal", "normal"]
    assert simulated("ac-coupled-solar")[1].sessions == ()


def test_a_session_holds_what_the_generator_really_gave():
    simulation, found = simulated("healthy-charge")
    (session,) = found.sessions
    true, _ = simulation.energy_wh["generator_power"]
    assert session.generator_wh == pytest.approx(true, rel=0.02)
    rated = found.site.generator.rated_w * (session.end - session.start) / 3.6e12
    assert session.mean_load_share == pytest.approx(true / rated, rel=0.02)
    soc, row_at = simulation.truth.column("battery_soc"), simulation.truth.row_at
    assert session.soc_start == pytest.approx(soc[row_at(session.start)], abs=1.5)
    assert session.soc_end == pytest.approx(soc[row_at(session.end)], abs=1.5)


@pytest.mark.parametrize("name", [*HONEST, "reversed-battery-meter", "unequal-legs"])
def test_a_session_grows_to_what_it_holds_in_the_end(name):
    _, found = simulated(name)
    for session in found.sessions:
        begun = found.moment(session.start).session
        halfway = found.moment((session.start + session.end) // 2).session
        done = found.moment(session.end).session
        assert begun is not None
        assert halfway is not None
        assert done is not None
        assert begun.generator_wh < halfway.generator_wh < done.generator_wh
        # The last row counts for the step after it only once that step is over.
        assert done.generator_wh == pytest.approx(session.generator_wh, rel=0.02)
        assert found.moment(session.end + 3_600_000_000_000).session is None or len(found.sessions) > 1


def test_what_is_said_follows_the_day():
    _, found = simulated("limit-too-high")
    said = {finding.kind: found.moment(finding.start + 1_000_000_000) for finding in found.findings}
    assert "carried up to" in str(said["generator_over_rating"].headline)
    assert said["generator_over_rating"].severity == "act now"
    assert str(said["generator_stopped_under_load"].detail).startswith("The input limit is set too high")
    assert "connect it" in str(said["generator_stopped_under_load"].detail)
    assert str(found.moment(int(found.recording.time[0])).headline).startswith("The battery carries")


def test_at_every_moment_the_table_is_that_of_the_streams():
    _, found = simulated("grid-failure")
    for instant in found.recording.time[::97].tolist():
        moment = found.moment(instant)
        assert moment.table.sum(axis=1)[0] == pytest.approx(moment.streams["generator"].value, abs=1e-3)
        assert moment.table.sum(axis=0)[0] == pytest.approx(moment.streams["load"].value, abs=1e-3)
        assert str(moment.headline)
