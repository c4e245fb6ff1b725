"""One healthy recording, one fault after another put into it: who is named, and what a correction makes of it."""

import json

import numpy as np
import pytest
from suspect_help import gathered, named, suspects

from desktop.diagnosis.suspects import (
    column_rules,
    correctable,
    corrected,
    evidence,
    find_suspects,
    suspect_findings,
)
from desktop.opening import demos, rules_of
from desktop.review.suspects import suspects_json, suspects_text
from desktop.site import Site
from recordings.recording import Recording
from recordings.tables import read_table, write_csv

POWERS = (
    "generator_power",
    "load_power",
    "solar_power",
    "battery_power",
    "converter_ac_power",
    "converter_dc_power",
)


@pytest.fixture(scope="module")
def healthy():
    path = next(demo.path for demo in demos() if demo.path.stem == "healthy-charge")
    return read_table(path), Site.load(path.with_suffix(".toml"))


def with_columns(recording, **changed):
    columns = {name: recording.column(name) for name in recording.channels} | changed
    return Recording.from_columns(recording.time, columns, recording.provenance)


def changed(recording, channel, change):
    return with_columns(recording, **{channel: change(recording.column(channel).astype(float))})


@pytest.mark.parametrize("channel", POWERS)
def test_a_wrong_sign(healthy, channel):
    recording, site = healthy
    found = suspects(changed(recording, channel, np.negative), site)
    assert named(found) == [(channel, "reversed")]
    assert found[0].clear
    assert found[0].explains > 0.9


@pytest.mark.parametrize("channel", POWERS)
@pytest.mark.parametrize("factor", [0.001, 0.5, 0.72, 1.35, 10.0, 1000.0])
def test_a_wrong_scale(healthy, channel, factor):
    recording, site = healthy
    (found,) = suspects(changed(recording, channel, lambda read: np.round(read * factor)), site)
    assert (found.channel, found.fault) == (channel, "scale")
    assert found.clear
    assert found.parameter == pytest.approx(factor, rel=0.08)


@pytest.mark.parametrize("channel", ["battery_power", "converter_ac_power", "converter_dc_power"])
@pytest.mark.parametrize("offset", [-400.0, 300.0])
def test_an_offset(healthy, channel, offset):
    recording, site = healthy
    (found,) = suspects(changed(recording, channel, lambda read: read + offset), site)
    assert (found.channel, found.fault) == (channel, "offset")
    assert found.parameter == pytest.approx(offset, abs=45)
    assert found.unit == "W"


def test_what_one_balance_can_t_tell_apart_is_named_together(healthy):
    recording, site = healthy
    (found,) = suspects(changed(recording, "load_power", lambda read: read - 150), site)
    group = {(each.channel, each.fault) for each in (found, *found.rivals)}
    assert {("load_power", "offset"), ("ac", "unmetered_load")} <= group
    assert not found.clear
    assert suspect_findings((found,)) == ()
    assert "It may as well be:" in "\n".join(suspects_text((found,)))


def test_two_that_are_exchanged(healthy):
    recording, site = healthy
    one, other = recording.column("load_power"), recording.column("solar_power")
    (found,) = suspects(with_columns(recording, load_power=other, solar_power=one), site)
    assert (found.channel, found.fault) == ("load_power+solar_power", "swapped")
    assert found.channels == ("load_power", "solar_power")
    assert str(found.text) == "The readings of load power and solar power are exchanged."


def test_a_meter_that_hangs_for_part_of_the_time(healthy):
    recording, site = healthy
    battery = recording.column("battery_power").copy()
    battery[1200:2600] = battery[1200]
    (found,) = suspects(with_columns(recording, battery_power=battery), site)
    assert (found.channel, found.fault) == ("battery_power", "stuck")
    assert found.parameter == battery[1200]
    assert abs(found.start - recording.time[1200]) < 120e9
    assert abs(found.end - recording.time[2600]) < 120e9
    mended = corrected(with_columns(recording, battery_power=battery), found).column("battery_power")
    assert np.isnan(mended[1300:2500]).all()
    assert np.isfinite(mended[:1100]).all()


@pytest.mark.parametrize("seconds", [10, 30, 80])
def test_a_meter_that_comes_late(healthy, seconds):
    recording, site = healthy
    rows = seconds // 2
    generator = recording.column("generator_power")
    late = np.concatenate((np.full(rows, generator[0]), generator[:-rows]))
    lagging = with_columns(recording, generator_power=late)
    snapshot, learned = gathered(lagging, site)
    (found,) = find_suspects(snapshot, learned, site)
    assert (found.channel, found.fault, found.unit) == ("generator_power", "lag", "s")
    assert found.parameter == pytest.approx(seconds, rel=0.12, abs=2)
    shown = evidence(found, snapshot, learned, site)
    assert np.abs(shown.recorded - np.median(shown.recorded)).max() > 500
    assert np.nansum(np.abs(shown.corrected)) < 0.6 * np.nansum(np.abs(shown.recorded))


def test_something_used_that_no_meter_sees(healthy):
    recording, site = healthy
    on = (np.arange(len(recording)) // 300) % 2 == 1
    load = recording.column("load_power") + 0.0
    hidden = with_columns(recording, load_power=load - np.where(on, np.minimum(600, 0.8 * load), 0))
    snapshot, learned = gathered(hidden, site)
    (found,) = find_suspects(snapshot, learned, site)
    assert (found.channel, found.fault) == ("ac", "unmetered_load")
    assert not correctable(found)
    assert corrected(hidden, found) is hidden
    assert column_rules(hidden, site, found) is None
    shown = evidence(found, snapshot, learned, site)
    assert shown.buses == ("ac",)
    assert np.nanmax(shown.recorded) > 100
    assert np.nanmax(shown.corrected) <= 0


def test_evidence_shows_the_imbalance_gone(healthy):
    recording, site = healthy
    lying = changed(recording, "battery_power", np.negative)
    snapshot, learned = gathered(lying, site)
    (found,) = find_suspects(snapshot, learned, site)
    shown = evidence(found, snapshot, learned, site)
    assert shown.time.shape == shown.recorded.shape == shown.corrected.shape == (len(snapshot),)
    assert shown.buses == ("dc",)
    assert np.nanmedian(np.abs(shown.recorded)) > 1000
    assert np.nanmax(np.abs(shown.corrected)) < 150


@pytest.mark.parametrize(
    ("channel", "change", "rule"),
    [
        ("battery_power", np.negative, {"sign": -1}),
        ("load_power", lambda read: np.round(read / 2), {"scale": 2.0}),
        ("solar_power", lambda read: read * 10, {"scale": 0.1}),
        ("converter_ac_power", lambda read: read - 400, {}),
    ],
)
def test_a_correction_and_the_sheet_that_says_the_same(healthy, tmp_path, channel, change, rule):
    recording, site = healthy
    path = tmp_path / "log.csv"
    write_csv(changed(recording, channel, change), path)
    lying = read_table(path)
    (found,) = suspects(lying, site)
    mended = corrected(lying, found)
    assert suspects(mended, site) == ()
    assert "a correction was tried: The " in mended.provenance.repairs.notes[-1]
    assert "corrected: The " in mended.provenance.columns[channel].how
    assert "corrected" not in lying.provenance.columns[channel].how
    rules = column_rules(lying, site, found)
    assert rules is not None
    assert {key: getattr(rules[channel], key) for key in rule} == rule
    again = read_table(path, rules=rules_of(site.model_copy(update={"columns": rules})))
    np.testing.assert_allclose(again.column(channel), mended.column(channel), rtol=1e-3, atol=1)
    # A sheet that has the rule already gets it changed back.
    turned = column_rules(again, site.model_copy(update={"columns": rules}), found)
    assert turned is not None
    assert turned[channel] != rules[channel]


def test_exchanged_columns_in_the_sheet(healthy, tmp_path):
    recording, site = healthy
    one, other = recording.column("load_power"), recording.column("solar_power")
    path = tmp_path / "log.csv"
    write_csv(with_columns(recording, load_power=other, solar_power=one), path)
    lying = read_table(path)
    (found,) = suspects(lying, site)
    rules = column_rules(lying, site, found)
    assert rules is not None
    again = read_table(path, rules=rules_of(site.model_copy(update={"columns": rules})))
    np.testing.assert_array_equal(again.column("load_power"), recording.column("load_power"))
    np.testing.assert_array_equal(
        corrected(lying, found).column("solar_power"), recording.column("solar_power")
    )


def test_live_readings_have_no_columns_to_rule(healthy):
    recording, site = healthy
    lying = Recording.from_columns(
        recording.time,
        {
            name: -recording.column(name) if name == "battery_power" else recording.column(name)
            for name in recording.channels
        },
    )
    (found,) = suspects(lying, site)
    assert column_rules(lying, site, found) is None
    np.testing.assert_array_equal(
        corrected(lying, found).column("battery_power"), recording.column("battery_power")
    )


def test_as_json_and_as_text(healthy):
    recording, site = healthy
    found = suspects(changed(recording, "generator_power", lambda read: read * 0.5), site)
    (told,) = json.loads(json.dumps(suspects_json(found), allow_nan=False))
    assert told["channel"], told["fault"] == ("generator_power", "scale")
    assert told["parameter"] == pytest.approx(0.5, rel=0.05)
    assert 0 < told["parameter_sd"] < 0.05
    assert told["explains"] > 0.9
    assert told["rivals"] == []
    assert told["start"].endswith("Z")
    lines = list(suspects_text(found))
    assert lines[0] == "Meters"
    assert "The generator meter reads half of what flows: it sees one leg or one clamp of two." in lines[1]
    assert list(suspects_text(())) == []
    (finding,) = suspect_findings(found)
    assert (finding.kind, finding.severity, finding.channel) == ("meter_suspect", "attend", "generator_power")
    assert "% of the imbalance is gone" in str(finding.text)


@pytest.mark.parametrize("rows", [0, 1, 2, 30])
def test_hardly_any_rows(healthy, rows):
    recording, site = healthy
    assert suspects(changed(recording, "battery_power", np.negative).rows(0, rows), site) == ()


def test_nothing_is_metered_twice(healthy):
    recording, site = healthy
    few = {name: recording.column(name) for name in ("load_power", "battery_voltage", "battery_soc")}
    assert suspects(Recording.from_columns(recording.time, few), site) == ()
