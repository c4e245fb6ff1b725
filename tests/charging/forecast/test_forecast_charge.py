"""Forecasts of simulated charges: they come true, and they say no more than can be known."""

import itertools
import math

import numpy as np
import pytest
from charges import AGM, LFP, QUICK, SUNNY, charge, reviewed, share_of
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.charging.forecast.forecast import forecast
from desktop.charging.forecast.phrases import limit_phrase, tank_phrase, target_phrase
from desktop.charging.forecast.quarters import quarterly
from desktop.flow.minutes import Minutes
from desktop.flow.worker import Worker
from desktop.review.forecast import forecast_json, forecast_text
from desktop.site import Site
from recordings.recording import Recording

SHARES = (0.5, 0.65, 0.8, 0.9)
HOUR = 3_600_000_000_000


@pytest.mark.parametrize("text", [LFP, SUNNY])
def test_the_time_to_target_comes_true_from_half_way_on(text):
    errors, held = [], []
    for seed in (1, 2, 3):
        found = charge(text, seed)
        session = found.sessions[0]
        done = found.reached(session, 80.0)
        for share in SHARES:
            at = share_of(session, done, share)
            said = found.said(at)
            assert said is not None
            when = said.target(80.0)
            assert when is not None
            assert when.at is not None
            assert when.low is not None
            assert when.high is not None
            assert when.low <= when.at <= when.high
            errors.append(abs(when.at - done) / (done - at))
            held.append(when.low <= done <= when.high)
    assert np.median(errors) <= 0.08
    assert np.mean(held) >= 0.6


def test_lead_acid_is_known_better_after_a_charge():
    found = charge(AGM)
    widths, errors = [], []
    for session in found.sessions[:2]:
        done = found.reached(session, 85.0)
        at = share_of(session, done, 0.5)
        said = found.said(at)
        assert said is not None
        when = said.target(85.0)
        assert when is not None
        assert when.at is not None
        assert when.high is not None
        assert when.low is not None
        widths.append((when.high - when.low) / (done - at))
        errors.append(abs(when.at - done) / (done - at))
    assert widths[1] < widths[0]
    assert errors[1] < 0.12


def test_it_says_what_holds_the_charge():
    found = charge(LFP)
    session = found.sessions[0]
    said = found.said(share_of(session, found.reached(session, 80.0), 0.6))
    assert said is not None
    assert said.limited_by == "input limit"
    lead = charge(QUICK)
    session = lead.sessions[0]
    late = lead.said(share_of(session, lead.reached(session, 85.0), 0.8))
    assert late is not None
    assert late.limited_by == "taper"


def test_the_fan_starts_now_rises_and_widens():
    found = charge(LFP)
    session = found.sessions[0]
    at = share_of(session, found.reached(session, 80.0), 0.4)
    said = found.said(at)
    assert said is not None
    fan = said.fan
    assert abs(fan.time[0] - at) <= 60_000_000_000
    assert (np.diff(fan.time) > 0).all()
    assert (fan.low <= fan.middle).all()
    assert (fan.middle <= fan.high).all()
    assert (np.diff(fan.middle) >= 0).all()
    assert fan.middle[0] == pytest.approx(np.interp(at, found.recording.time, found.soc), abs=0.5)
    mostly = fan.middle < 80
    assert np.ptp(np.stack((fan.low, fan.high))[:, mostly][:, -1]) > fan.high[0] - fan.low[0]


def test_a_tank_that_runs_dry_is_foreseen():
    found = charge(LFP.replace("tank = 15", "tank = 15\ntank_percent = 18"))
    session = found.sessions[0]
    assert session.stop == "dry tank"
    dry = session.end
    for share in (0.5, 0.7):
        at = share_of(session, dry, share)
        said = found.said(at)
        assert said is not None
        assert said.tank_empty is not None
        assert said.tank_empty.at is not None
        assert said.tank_empty.low is not None
        assert said.tank_empty.high is not None
        assert abs(said.tank_empty.at - dry) / (dry - at) < 0.12
        assert said.tank_empty.low < dry < said.tank_empty.high
        assert str(tank_phrase(said, found.site.zone)).startswith("The tank will not do: it is empty at ")


def test_the_tank_lasts_longer_than_at_full_charge_and_less_than_idling():
    found = charge(LFP)
    session = found.sessions[0]
    at = share_of(session, found.reached(session, 80.0), 0.5)
    said = found.said(at)
    assert said is not None
    tank = said.tank_empty
    assert tank is not None
    assert tank.at is not None
    assert tank.low is not None
    assert tank.high is not None
    level = float(np.interp(at, found.recording.time, found.recording.column("fuel_level")))
    # 0.5 L/h idling and 1.6 L/h more at 6 kW; the input limit lets 4.0 kW through, the house takes 0.4 kW.
    charging, carrying = (level / 100 * 15 / (0.5 + 1.6 * kw / 6) for kw in (4.0, 0.4))
    assert charging < (tank.low - at) / HOUR < (tank.at - at) / HOUR < (tank.high - at) / HOUR < carrying


def test_rows_after_the_instant_make_no_difference():
    found = charge(LFP)
    session = found.sessions[0]
    at = share_of(session, found.reached(session, 80.0), 0.5)
    said = found.said(at)
    early = forecast(found.minutes.until(at), found.learned, found.site, at)
    assert said == early
    assert said is not None
    assert early is not None
    assert np.array_equal(said.fan.middle, early.fan.middle)


@given(cuts=st.lists(st.integers(1, 1600), max_size=12))
@settings(max_examples=8, deadline=None)
def test_how_rows_were_cut_makes_no_difference(cuts):
    found = charge(LFP)
    worker, minutes = Worker(found.learned, found.site), Minutes()
    edges = sorted({0, len(found.recording), *(cut for cut in cuts if cut < len(found.recording))})
    for start, stop in itertools.pairwise(edges):
        minutes.extend(worker.work(found.recording, start, stop))
    session = found.sessions[0]
    at = share_of(session, found.reached(session, 80.0), 0.7)
    one, other = forecast(minutes, found.learned, found.site, at), found.said(at)
    assert one is not None
    assert other is not None
    assert one.limited_by == other.limited_by
    for mine, theirs in zip(one.targets, other.targets, strict=True):
        assert (mine.when.at is None) == (theirs.when.at is None)
        if mine.when.at is not None and theirs.when.at is not None:
            assert abs(mine.when.at - theirs.when.at) < 1_000_000_000


def test_nothing_is_said_where_nothing_can_be():
    found = charge(LFP)
    session = found.sessions[0]
    middle = share_of(session, session.end, 0.5)
    assert found.said(session.start - HOUR // 2) is None
    assert found.said(session.start + 60_000_000_000) is None
    assert found.said(session.end + HOUR // 3) is None
    columns = {name: found.recording.column(name) for name in found.recording.channels}
    for lacking in ("battery_soc", "battery"):
        kept = {name: values for name, values in columns.items() if not name.startswith(lacking)}
        less = {n: v for n, v in kept.items() if n not in ("converter_dc_power", "converter_ac_power")}
        assert (
            reviewed(
                Recording.from_columns(found.recording.time, less, found.recording.provenance),
                found.soc,
                Site() if lacking == "battery" else found.site,
            ).said(middle)
            is None
        )


def test_without_a_capacity_it_is_learned_from_the_charge():
    found = charge(LFP)
    battery = found.site.battery.model_copy(update={"capacity_kwh": None})
    blind = found.site.model_copy(update={"battery": battery})
    session = found.sessions[0]
    done = found.reached(session, 80.0)
    assert forecast(found.minutes, found.learned, blind, session.start + 5 * 60_000_000_000) is None
    at = share_of(session, done, 0.5)
    said = forecast(found.minutes, found.learned, blind, at)
    assert said is not None
    when = said.target(80.0)
    assert when is not None
    assert when.at is not None
    assert abs(when.at - done) / (done - at) < 0.15


def test_a_target_that_is_reached_is_told_no_more():
    found = charge(LFP)
    session = found.sessions[0]
    said = found.said(found.reached(session, 80.0) + 10 * 60_000_000_000)
    assert said is not None
    assert [one.soc for one in said.targets] == [100.0]


def test_each_quarter_of_a_session():
    found = charge(LFP)
    told = quarterly(found.minutes, found.sessions, found.learned, found.site)
    assert len(told) == len(found.sessions)
    session = found.sessions[0]
    assert [round((one.at - session.start) / (session.end - session.start), 2) for one in told[0]] == [
        0.25,
        0.5,
        0.75,
    ]


def test_words_and_json():
    found = charge(LFP)
    session, zone = found.sessions[0], found.site.zone
    at = share_of(session, found.reached(session, 80.0), 0.5)
    said = found.said(at)
    assert said is not None
    text = str(target_phrase(said, said.targets[0], zone))
    assert text.startswith("80 % at 1")
    assert ", give or take " in text
    assert str(limit_phrase(said)) == "The AC input limit holds the charge."
    assert str(tank_phrase(said, zone)).startswith("The tank will do until ")
    assert forecast_text(said, zone)[0] == f"{text}."
    json = forecast_json(said)
    assert json is not None
    assert json["targets"][0]["soc"] == 80.0
    assert json["targets"][0]["low"] < json["targets"][0]["at"] < json["targets"][0]["high"]
    assert forecast_json(None) is None
    assert forecast_text(None, zone) == []


def test_voltage_and_limits_may_be_missing():
    found = charge(LFP)
    kept = {
        name: found.recording.column(name)
        for name in ("generator_power", "load_power", "battery_power", "battery_soc")
    }
    sheet = Site.of({"battery": {"capacity_kwh": 14, "chemistry": "lfp", "target_soc": 80}})
    bare = reviewed(
        Recording.from_columns(found.recording.time, kept, found.recording.provenance), found.soc, sheet
    )
    session = bare.sessions[0]
    done = bare.reached(session, 80.0)
    at = share_of(session, done, 0.6)
    said = bare.said(at)
    assert said is not None
    assert said.tank_empty is None
    when = said.target(80.0)
    assert when is not None
    assert when.at is not None
    assert not math.isnan(when.at)
    assert abs(when.at - done) / (done - at) < 0.2
