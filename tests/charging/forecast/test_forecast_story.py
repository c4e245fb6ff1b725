"""The story that a forecast tells through a whole session: steady, and come true."""

from dataclasses import replace
from datetime import UTC

import numpy as np
import pytest
from charges import LFP, charge, share_of

from desktop.charging.forecast.ceilings import Ceiling, Ceilings
from desktop.charging.forecast.forecast import FULL_ENOUGH, Span, Target
from desktop.charging.forecast.limits import floats, limited_now, limits_lately
from desktop.charging.forecast.phrases import (
    clock_time,
    limit_phrase,
    tank_phrase,
    target_phrase,
    untold_phrase,
)
from desktop.charging.forecast.view import view_of

MINUTE = 60_000_000_000
HOUR = 60 * MINUTE
NONE = Ceiling(float("inf"), 0.0, seen=False)

FULL = LFP.replace("hours = 4.5", "hours = 7").replace("limit_a = 18", "limit_a = 25")
LEAD = (
    LFP.replace('"lfp"', '"flooded"')
    .replace("capacity_kwh = 14", "capacity_kwh = 14\nnominal_v = 48\nabsorb_minutes = 60")
    .replace("limit_a = 90", "limit_a = 50")
    .replace("soc = 31", "soc = 60")
    .replace("hours = 4.5", "hours = 7")
)


def told(found, share_start=0.1, every=10 * MINUTE):
    """Every forecast of the first session, from shortly after its beginning on."""
    session = found.sessions[0]
    first = share_of(session, session.end, share_start)
    return [found.said(at) for at in range(first, session.end, every)]


def test_a_lithium_charge_is_full_when_it_was_said_to_be_and_then_it_is_done():
    found = charge(FULL)
    session = found.sessions[0]
    full = found.reached(session, FULL_ENOUGH)
    at = share_of(session, full, 0.7)
    said = found.said(at)
    assert said is not None
    when = said.target(100.0)
    assert when is not None
    assert when.at is not None
    assert abs(when.at - full) < 0.2 * (full - at)
    after = [one for one in told(found) if one is not None and one.at > full + 40 * MINUTE]
    assert len(after) > 3
    for one in after:
        assert one.targets == one.untold == ()
        assert one.limits == ("float",)
        assert str(limit_phrase(one)).startswith("The charger is done")
        assert one.fan.high[-1] - one.fan.low[0] < 2.0


def test_when_lead_acid_is_full_is_not_known():
    found = charge(LEAD)
    session = found.sessions[0]
    early, late = (found.said(share_of(session, session.end, share)) for share in (0.1, 0.9))
    assert early is not None
    assert [one.soc for one in early.targets] == [80.0]
    assert early.untold == (100.0,)
    # As long as a nearer target is told that says enough.
    assert not untold_phrase(early)
    assert "isn't known" in str(untold_phrase(replace(early, targets=())))
    # After an hour of absorption its charger goes to float, below the last percent.
    assert late is not None
    assert late.limited_by == "float"
    assert late.untold == ()


def test_the_time_to_target_hardly_moves_through_a_session():
    found = charge(LFP)
    times = [one.target(80.0) for one in told(found, 0.3) if one is not None]
    middles = [one.at for one in times if one is not None and one.at is not None]
    assert len(middles) > 5
    assert np.ptp(middles) < 20 * MINUTE


@pytest.fixture
def seen():
    found = charge(LFP)
    session = found.sessions[0]
    at = share_of(session, found.reached(session, 80.0), 0.9)
    view = view_of(found.minutes, found.learned, found.site, at)
    assert view is not None
    return view, found.site


def ceilings(view, source=NONE, charger=NONE, battery=NONE):
    return Ceilings(source, charger, NONE, battery, np.zeros(len(view.time), bool))


def test_two_limits_that_take_turns_are_both_told(seen):
    view, site = seen
    minute = np.arange(len(view.time))
    by_turns = np.where(minute // 8 % 2 == 0, 4000.0, 3000.0)
    switched = replace(view, source=by_turns, converter_dc=np.where(by_turns > 3500, 60.0, 80.0) * view.volts)
    at = ceilings(view, Ceiling(4000.0, 1.0, seen=True), Ceiling(80.0, 1.0, seen=True))
    for end in range(len(minute) - 9, len(minute)):
        cut = {
            name: getattr(switched, name)[:end]
            for name in ("time", "source", "converter_dc", "volts", "battery")
        }
        now = replace(switched, **cut)
        held = replace(at, held=at.held[:end])
        limit = limited_now(now, held, site, 1e9)
        assert limit in ("input limit", "charger limit")
        assert limits_lately(now, held, limit) == ("input limit", "charger limit")


def test_what_flows_into_a_full_battery_is_not_held_by_a_limit(seen):
    view, site = seen
    room = ceilings(view, Ceiling(5000.0, 1.0, seen=True), Ceiling(90.0, 1.0, seen=True))
    full = replace(
        view,
        soc=np.full(len(view.time), 99.0),
        battery=np.full(len(view.time), 5.0),
        converter_dc=np.full(len(view.time), 5.0),
        source=np.full(len(view.time), 400.0),
    )
    assert floats(full, room, site, 280.0)
    assert not floats(view, room, site, 280.0)
    # Where the house takes all that the input lets through it isn't the battery that is done.
    busy = replace(full, source=np.full(len(view.time), 4900.0))
    assert not floats(busy, room, site, 280.0)


def test_a_time_is_told_no_finer_than_it_is_known():
    at = 1_700_000_000_000_000_000 // HOUR * HOUR + 17 * MINUTE
    clocks = [
        str(clock_time(at, at, UTC, spread)) for spread in (0.0, 300.0, 1200.0, 4000.0, 9000.0, 20_000.0)
    ]
    assert [one[-2:] for one in clocks] == ["17", "17", "15", "15", "30", "00"]


def test_a_wide_range_is_told_by_its_ends():
    found = charge(LFP)
    session = found.sessions[0]
    said = found.said(share_of(session, session.end, 0.5))
    assert said is not None
    begin = said.at // HOUR * HOUR
    wide = Target(80.0, Span(begin + 3 * HOUR, begin + 2 * HOUR, begin + 5 * HOUR))
    text = str(target_phrase(said, wide, UTC))
    assert text.startswith("80 % between ")
    assert text.count(":00") == 2


def test_a_tank_that_lasts_for_long_is_told_without_a_clock():
    found = charge(LFP)
    session = found.sessions[0]
    said = found.said(share_of(session, session.end, 0.5))
    assert said is not None
    for hours, text in ((30, "a day and more"), (15, "half a day and more"), (8, "until ")):
        tank = Span(said.at + (hours + 3) * HOUR, said.at + hours * HOUR, said.at + (hours + 6) * HOUR)
        assert text in str(tank_phrase(replace(said, tank_empty=tank), UTC))
