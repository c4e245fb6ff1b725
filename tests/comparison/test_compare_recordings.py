"""Recordings and sessions side by side."""

import itertools
import json
from pathlib import Path

import numpy as np
import pytest
from plant_weeks import SHEET, WEEKS, weeks

from desktop.comparison.as_json import comparison_json
from desktop.comparison.as_text import comparison_text
from desktop.comparison.comparison import compare
from desktop.comparison.estimate import Estimate
from desktop.comparison.shown import value_phrase
from desktop.comparison.side import Side
from desktop.comparison.table import GROUPS, table
from desktop.opening import open_recording
from desktop.review import review
from desktop.site import Site
from recordings.errors import UsageError
from recordings.recording import Recording

DEMO = Path(__file__).resolve().parents[2] / "recordings" / "demo"


@pytest.fixture(scope="module")
def demo():
    names = ("healthy-charge", "limit-too-high", "two-overcast-days")
    return {name: review(*open_recording(DEMO / f"{name}.csv")) for name in names}


def week(limit, seed):
    _, recording = weeks(WEEKS.replace("limit_a = 20", f"limit_a = {limit}"), 8, seed)
    return review(recording, Site.parse(SHEET.format(limit=limit)))


@pytest.fixture(scope="module")
def before():
    return week(20, 1)


@pytest.fixture(scope="module")
def after():
    return week(12, 2)


def rows(found):
    return {row.key: row for row in found.rows}


def verdicts(found):
    return {row.key: row.verdict for row in found.rows}


def test_a_recording_has_not_changed_against_itself(demo):
    found = compare(demo["healthy-charge"], demo["healthy-charge"])
    assert {row.change.value for row in found.rows} == {0.0}
    assert set(verdicts(found).values()) <= {"same", "within chance"}
    assert found.settings == ()
    assert all(one.course == "stayed" for one in found.findings)
    assert "nothing changed by more than chance" in comparison_text(found)


def test_a_limit_that_is_too_high_stands_out_against_a_healthy_charge(demo):
    found = compare(demo["healthy-charge"], demo["limit-too-high"])
    told = verdicts(found)
    assert {told[key] for key in ("input_limit_a", "peak_input_a", "mean_load_share")} == {"more"}
    assert told["charge_limit_a"] == told["charge_power_kw"] == "less"
    came = {one.kind for one in found.findings if one.course == "came"}
    assert {"limit_above_rating", "generator_over_rating", "generator_stopped_under_load"} <= came
    changed = {(one.section, one.key): (one.a, one.b) for one in found.settings}
    assert changed["input", "limit_a"] == (24, 42)
    assert changed["generator", "fuel"] == ("diesel", "gasoline")
    assert not found.same_meters
    assert "These are different sites" in comparison_text(found)


def test_values_are_those_of_the_sessions(demo):
    session = demo["healthy-charge"].sessions[0]
    hours = (session.end - session.start) / 3.6e12
    found = rows(compare(demo["healthy-charge"], demo["limit-too-high"]))
    assert found["generator_kwh_per_h"].a.value == pytest.approx(
        session.generator_wh / 1000 / hours, rel=1e-3
    )
    assert found["load_share"].a.value == pytest.approx(session.to_load_wh / session.generator_wh)
    assert found["peak_input_a"].a.value == session.peak_input_a
    assert found["mean_load_share"].a.value == pytest.approx(session.mean_load_share, rel=1e-3)
    burnt = demo["healthy-charge"].fuel.sessions[0]
    assert found["fuel_per_kwh"].a.value == pytest.approx(burnt.each_kwh)
    shares = [found[key].a.value for key in ("load_share", "battery_share", "losses_share")]
    assert sum(shares) == pytest.approx(1.0, abs=1e-3)


def test_swapping_the_recordings_turns_every_sign(demo):
    there = compare(demo["healthy-charge"], demo["limit-too-high"])
    back = compare(demo["limit-too-high"], demo["healthy-charge"])
    for one, other in zip(there.rows, back.rows, strict=True):
        assert (one.key, one.a, one.b) == (other.key, other.b, other.a)
        np.testing.assert_equal(one.change.value, -other.change.value)
        np.testing.assert_equal(one.change.sd, other.change.sd)
    assert {one.kind for one in there.findings if one.course == "came"} == {
        one.kind for one in back.findings if one.course == "went"
    }
    assert [(one.a, one.b) for one in there.settings if one.section == "input"] == [
        (one.b, one.a) for one in back.settings if one.section == "input"
    ]


def test_runs_under_the_same_settings_rarely_differ_by_more_than_chance(before):
    count = len(before.sessions)
    assert count >= 4
    told = [
        row.verdict
        for a, b in itertools.combinations(range(1, count + 1), 2)
        for row in compare(before, before, a, b).rows
    ]
    called = sum(one in ("more", "less") for one in told)
    assert called <= 0.1 * len(told), f"{called} of {len(told)}"


def only(found, number):
    """A recording with little more than one session in it."""
    session = found.sessions[number - 1]
    part = found.recording.between(session.start - 1_200_000_000_000, session.end + 1_200_000_000_000)
    columns = {name: part.column(name).copy() for name in part.channels}
    return review(Recording.from_columns(part.time.copy(), columns), found.site)


def test_recordings_of_single_runs_take_the_house_to_differ_and_say_so(before):
    singles = [only(before, number) for number in range(1, len(before.sessions) + 1)]
    told = [
        row.verdict
        for a, b in itertools.combinations(singles, 2)
        for row in compare(a, b).rows
        if row.a.known
    ]
    called = sum(one in ("more", "less") for one in told)
    assert called <= 0.1 * len(told), f"{called} of {len(told)}"
    found = compare(*singles[:2])
    assert comparison_json(found)["a"]["load_sd_source"] == "assumed"
    assert "assumed is that the house's load differs by 50 %" in comparison_text(found)


def test_a_lowered_limit_shows_in_what_it_changes(before, after):
    found = compare(before, after)
    told = verdicts(found)
    for key in (
        "generator_kwh_per_h",
        "to_battery_kwh_per_h",
        "input_limit_a",
        "peak_input_a",
        "mean_load_share",
        "charge_power_kw",
    ):
        assert told[key] == "less", key
    assert told["seconds_per_10_points"] == "more"
    assert [(one.section, one.key) for one in found.settings] == [("input", "limit_a")]
    assert found.same_meters


def test_time_and_fuel_for_ten_points_are_those_of_the_battery(before):
    value = {key: row.a.value for key, row in rows(compare(before, before)).items()}
    raised, power = value["seconds_per_10_points"], value["charge_power_kw"]
    # 10 points of 10.2 kWh at the terminals, and some of what goes in is lost.
    assert raised == pytest.approx(1.02 / power * 3600, rel=0.08)
    given = raised / 3600 * value["generator_kwh_per_h"]
    assert value["fuel_per_10_points"] == pytest.approx(given * value["fuel_per_kwh"], rel=0.05)


def test_charges_that_have_no_state_in_common_are_not_held_against_each_other(demo):
    found = demo["healthy-charge"]
    time, soc = found.recording.time, found.recording.column("battery_soc")
    middle = int(np.searchsorted(soc, 50))
    halves = []
    for start, stop in ((0, middle), (middle, len(time))):
        part = found.recording.rows(start, stop)
        columns = {name: part.column(name).copy() for name in part.channels}
        halves.append(review(Recording.from_columns(part.time.copy(), columns), found.site))
    told = compare(*halves)
    assert {verdicts(told)[key] for key in ("seconds_per_10_points", "fuel_per_10_points")} == {"not known"}
    assert verdicts(told)["charge_power_kw"] != "not known"
    assert comparison_json(told)["soc_range"] is None
    assert "can't be compared" in comparison_text(told)


def test_without_a_run_nothing_is_said_of_one(demo):
    found = demo["healthy-charge"]
    rest = found.recording.rows(0, 60)
    columns = {name: rest.column(name).copy() for name in rest.channels}
    quiet = review(Recording.from_columns(rest.time.copy(), columns), found.site)
    assert quiet.sessions == ()
    told = verdicts(compare(quiet, found))
    assert {key for key, word in told.items() if word != "not known"} <= {"input_limit_a", "charge_limit_a"}
    assert "has no charge session" in comparison_text(compare(quiet, found))


def test_two_sessions_of_one_recording_are_compared(demo):
    days = demo["two-overcast-days"]
    found = compare(days, days, 1, 2)
    assert found.same_meters
    starts = [comparison_json(found)[side]["start"] for side in "ab"]
    assert starts == [days.as_json()["sessions"][number]["start"] for number in (0, 1)]
    assert [len(Side(days, number).sessions) for number in (None, 1)] == [2, 1]


@pytest.mark.parametrize("number", [0, 3, -1])
def test_a_session_that_is_not_there_is_refused(demo, number):
    with pytest.raises(UsageError, match="there is no such charge session"):
        compare(demo["two-overcast-days"], demo["two-overcast-days"], 1, number)


def test_amounts_of_two_fuels_are_not_subtracted(demo):
    found = demo["healthy-charge"]
    table = found.site.model_dump(exclude_unset=True)
    table["generator"]["fuel"] = "natural gas"
    gas = review(found.recording, Site.of(table))
    row = rows(compare(found, gas))["fuel_per_kwh"]
    assert row.a.known
    assert row.b.known
    assert row.verdict == "not known"


def test_json_is_strict_and_says_what_the_table_says(demo):
    found = compare(demo["healthy-charge"], demo["limit-too-high"])
    told = json.loads(json.dumps(comparison_json(found), allow_nan=False))
    assert set(told) == {"a", "b", "same_meters", "soc_range", "quantities", "findings", "settings"}
    limit = told["quantities"]["input_limit_a"]
    assert (limit["a"]["value"], limit["b"]["value"], limit["change"]["value"]) == (24.0, 42.0, 18.0)
    assert [row.group for row in table(found)] == sorted(
        (row.group for row in table(found)), key=list(GROUPS).index
    )
    lines = comparison_text(found).splitlines()
    assert any("AC input limit" in line and "24.0 A" in line and "+18.0 A" in line for line in lines)
    # Both limits are reported as the sheets say them, and told once.
    assert len(table(found)) == len(found.rows) + len(found.findings) + len(found.settings) - 2


def test_the_settings_that_differ_come_first_and_what_changed_before_what_did_not(before, after):
    found = compare(before, after)
    lines = table(found)
    first, *rest = lines
    assert (first.group, str(first.label), str(first.a), str(first.b)) == (
        "settings",
        "AC input limit",
        "20.0 A",
        "12.0 A",
    )
    groups = [line.group for line in rest]
    assert groups.count("settings") == 0
    assert groups.index("changed") < groups.index("unchanged")
    assert all(line.changed for line in rest if line.group == "changed")
    assert not any(line.changed for line in rest if line.group in ("unchanged", "unknown"))
    text = comparison_text(found)
    assert text.startswith("One setting differs: AC input limit, 20.0 A before and 12.0 A after.\n")
    assert (
        text.index("Settings that differ")
        < text.index("Changed by more than chance\n")
        < text.index("No more than chance")
    )


def test_a_limit_that_no_device_reports_is_told_as_the_sheets_say_it_and_once(before):
    stated = before.site.model_dump(exclude_unset=True) | {"input": {"limit_a": 16}}
    changed = review(before.recording, Site.of(stated))
    labels = [str(line.label) for line in table(compare(before, changed)) if line.group == "settings"]
    assert labels == ["AC input limit"]


def test_a_change_is_a_share_of_what_there_was_and_crosses_nothing_where_it_is_none(before, after):
    for found in (compare(before, after), compare(before, before, 1, 2)):
        for line, row in (
            (line, row) for line in table(found) for row in found.rows if row.label is line.label
        ):
            if line.shift is None:
                continue
            assert line.shift.value == pytest.approx((row.b.value - row.a.value) / abs(row.a.value))
            assert line.changed == (abs(line.shift.value) > line.shift.reach)
    halved = next(line for line in table(compare(before, after)) if line.group == "settings")
    assert halved.shift.value == pytest.approx(-0.4)
    assert halved.shift.reach == 0


def test_what_is_less_than_the_last_digit_is_nothing():
    assert str(value_phrase(Estimate(1e-9, 1e-8), "kWh/h")) == "0 kWh/h"
    assert str(value_phrase(Estimate(1e-9, 0.02), "kWh/h")) == "0.000 ± 0.020 kWh/h"


def test_hostile_names_stay_on_their_line(demo):
    found = demo["healthy-charge"]
    named = review(found.recording, Site.of({"site": {"name": "x\n\x1b[31m{evil}"}}))
    named.recording.provenance.name, before = "a\nb\x1b[2J{0}.csv", named.recording.provenance.name
    try:
        text = comparison_text(compare(named, named))
    finally:
        named.recording.provenance.name = before
    assert "\x1b" not in text
    assert "{0}" in text.splitlines()[3]
