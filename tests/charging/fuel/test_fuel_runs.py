"""What runs burn: by the curve over load and unloaded running, calibrated by refills and the gauge."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from minutebooks import MINUTE, START, Facts, minutes_of, session

from desktop.charging.fuel.phrases import low_load_phrase
from desktop.charging.fuel.state import fuel_of
from desktop.review.fuel import fuel_json, fuel_text
from desktop.site import Site

SHEET = {"rated_w": 8000, "fuel": "diesel", "fuel_half_load": 1.6, "fuel_full_load": 2.6, "tank": 40}
IDLE, SLOPE = 0.6, 0.25


def site(refill=(), **generator) -> Site:
    return Site.of({"generator": SHEET | generator, "refill": list(refill)})


def at(minute: int) -> datetime:
    return datetime.fromtimestamp(START / 1e9, UTC) + timedelta(minutes=minute)


def day(load_w: float = 4000.0, hours: float = 2.0) -> tuple[np.ndarray, np.ndarray]:
    """Ten hours: warms up 5 min, carries for so long from the second hour on, cools down 10 min."""
    power, turning = np.zeros(600), np.zeros(600, bool)
    stop = 120 + round(60 * hours)
    power[120:stop] = load_w
    turning[115 : stop + 10] = True
    return power, turning


def test_warming_up_and_cooling_down_burn_too():
    power, turning = day()
    found = fuel_of(minutes_of(power, turning), [session(120, 240)], Facts(), site())
    burnt = found.sessions[0]
    assert burnt is not None
    assert burnt.hours == pytest.approx(2.25, abs=0.02)
    assert burnt.amount == pytest.approx(2.25 * IDLE + 8 * SLOPE, rel=0.01)
    # 5 % of the curve, and 1 % of the meter on the part that goes with the load.
    assert burnt.sd == pytest.approx(math.hypot(0.05 * burnt.amount, 0.01 * 8 * SLOPE), rel=0.01)
    assert burnt.each_kwh == pytest.approx(burnt.amount / 8, rel=1e-9)
    assert burnt.efficiency == pytest.approx(8 / (burnt.amount * 9.9477), rel=1e-9)


def test_without_terminals_only_the_loaded_time_is_known():
    power, _ = day()
    found = fuel_of(minutes_of(power, None), [session(120, 240)], Facts(hz=None, volts=None), site())
    assert found.sessions[0] is not None
    assert found.sessions[0].amount == pytest.approx(2.0 * IDLE + 8 * SLOPE, rel=0.01)


def test_neighbouring_sessions_share_the_idling_between_them_and_nothing_twice():
    power, turning = np.zeros(400), np.zeros(400, bool)
    turning[90:310] = True
    power[100:160] = power[240:300] = 5000.0
    found = fuel_of(minutes_of(power, turning), [session(100, 160), session(240, 300)], Facts(), site())
    amounts = [one.amount for one in found.sessions if one is not None]
    assert sum(amounts) == pytest.approx(220 / 60 * IDLE + 10 * SLOPE, rel=0.01)
    assert amounts[0] == pytest.approx(amounts[1], rel=0.05)


def test_missing_powers_widen_the_doubt_and_most_missing_is_not_known():
    power, turning = day()
    whole = fuel_of(minutes_of(power, turning), [session(120, 240)], Facts(), site()).sessions[0]
    power[150:165] = np.nan
    holed = fuel_of(minutes_of(power, turning), [session(120, 240)], Facts(), site()).sessions[0]
    power[125:240] = np.nan
    torn = fuel_of(minutes_of(power, turning), [session(120, 240)], Facts(), site()).sessions[0]
    assert whole is not None
    assert holed is not None
    assert torn is not None
    assert holed.amount == pytest.approx(whole.amount, rel=0.02)
    assert holed.sd > whole.sd
    assert math.isnan(torn.amount)


def test_low_load_is_told_as_what_it_costs():
    power, turning = day(load_w=800.0)
    found = fuel_of(minutes_of(power, turning), [session(120, 240)], Facts(), site())
    burnt, curve = found.sessions[0], found.curve
    assert burnt is not None
    assert curve is not None
    # At 6 kW: 0.6/6 + 0.25 = 0.35 L/kWh.
    assert curve.best_each_kwh == pytest.approx(0.35)
    assert burnt.extra == pytest.approx(burnt.amount - 1.6 * 0.35, rel=0.001)
    assert str(low_load_phrase(burnt, curve)) == (
        "At 9 % of its rating it burnt 1.09 L for each kWh, at three quarters 0.35: 1.2 L more."
    )
    busy, turned = day(load_w=6000.0)
    good = fuel_of(minutes_of(busy, turned), [session(120, 240)], Facts(), site()).sessions[0]
    assert good is not None
    assert not low_load_phrase(good, curve)


@pytest.mark.parametrize("factor", [0.85, 1.0, 1.2])
def test_refills_narrow_the_curve(factor):
    power, turning = day(hours=6.0)
    burnt = factor * (6.25 * IDLE + 24 * SLOPE)
    notes = [
        {"at": at(30), "amount": 3.0, "full": True},
        {"at": at(300), "amount": 4.0},
        {"at": at(550), "amount": burnt - 4.0, "full": True},
    ]
    sheet = site(notes)
    found = fuel_of(minutes_of(power, turning), [session(120, 480)], Facts(), sheet)
    assert found.curve is not None
    assert found.curve.source == "refills"
    assert found.curve.sd < 0.05
    # The sheet's line counts as well, so it lies between.
    scale = found.curve.per_kwh / SLOPE
    assert min(1, factor) - 0.01 <= scale <= max(1, factor) + 0.01
    assert abs(scale - factor) < abs(1 - factor) or factor == 1.0


def test_a_refill_time_without_offset_is_local():
    aware = Site.of({"site": {"timezone": "UTC"}, "refill": [{"at": at(30), "amount": 5, "full": True}]})
    power, turning = day()
    local = at(30) + timedelta(hours=1)
    naive = Site.of(
        {
            "site": {"timezone": "Europe/Berlin"},
            "generator": SHEET,
            "refill": [{"at": local.replace(tzinfo=None), "amount": 5, "full": True}],
        }
    )
    aware = aware.model_copy(update={"generator": naive.generator})
    left = [fuel_of(minutes_of(power, turning), [], Facts(), sheet).tank for sheet in (aware, naive)]
    assert left[0] == left[1] is not None


@pytest.mark.parametrize("quantum", [0.1, 1.0])
def test_the_gauge_narrows_the_curve(quantum):
    factor = 1.15
    power, turning = day(hours=7.0)
    rate = np.where(turning, IDLE + SLOPE * power / 1000, 0.0) * factor / 60
    level = 90 - 100 * (np.cumsum(rate) - rate / 2) / 40
    level[300:] += 8.0
    shown = np.round(level / quantum) * quantum
    found = fuel_of(minutes_of(power, turning, shown), [session(120, 540)], Facts(), site())
    assert found.curve is not None
    assert found.curve.source == "fuel gauge"
    # Of a gauge that is straight to 4 %, and a sheet that holds to 5 %.
    expected = (factor / 0.046**2 + 1 / 0.05**2) / (1 / 0.046**2 + 1 / 0.05**2)
    assert found.curve.per_kwh / SLOPE == pytest.approx(expected, abs=0.025)
    assert found.curve.sd < 0.04
    assert found.tank is not None
    assert found.tank.source == "fuel gauge"
    assert found.tank.amount == pytest.approx(level[-1] * 40 / 100, abs=2 * found.tank.sd + 0.2)


def test_the_tank_is_reckoned_only_from_a_full_one():
    power, turning = day()
    assert fuel_of(minutes_of(power, turning), [], Facts(), site()).tank is None
    some = site([{"at": at(10), "amount": 10.0}])
    assert fuel_of(minutes_of(power, turning), [], Facts(), some).tank is None
    full = site([{"at": at(10), "amount": 10.0, "full": True}, {"at": at(500), "amount": 2.0}])
    tank = fuel_of(minutes_of(power, turning), [], Facts(), full).tank
    assert tank is not None
    assert tank.source == "refill"
    assert tank.amount == pytest.approx(40 + 2 - (2.25 * IDLE + 8 * SLOPE), abs=0.05)


def test_a_full_tank_long_before_the_recording_tells_nothing():
    power, turning = day()
    early = site([{"at": at(-600), "amount": 10.0, "full": True}])
    assert fuel_of(minutes_of(power, turning), [], Facts(), early).tank is None


@given(
    loads=st.lists(st.floats(0, 8000), min_size=5, max_size=40),
    cut=st.integers(1, 39),
)
@settings(max_examples=25, deadline=None)
def test_litres_of_two_parts_are_those_of_the_whole(loads, cut):
    power = np.array(loads)
    cut = min(cut, len(power) - 1)
    turning = np.ones(len(power), bool)
    amounts = []
    for part in (power, power[:cut], power[cut:]):
        book = minutes_of(part, turning[: len(part)])
        found = fuel_of(book, [session(0, len(part))], Facts(), site())
        assert found.sessions[0] is not None
        amounts.append(found.sessions[0].amount)
    assert amounts[0] == pytest.approx(amounts[1] + amounts[2], rel=1e-9)


def test_json_and_text():
    power, turning = day()
    sheet = site(price_per_unit=2.0)
    found = fuel_of(minutes_of(power, turning), [session(120, 240)], Facts(), sheet)
    said = fuel_json(found.sessions[0], found, sheet)
    assert said["unit"] == "L"
    assert said["cost"] == pytest.approx(2 * said["amount"])
    assert said["source"] == "data sheet"
    assert fuel_text(found) == [
        "The generator burnt 3.4 ± 0.2 L: 0.42 L for each kWh.",
        "At 44 % of its rating it burnt 0.42 L for each kWh, at three quarters 0.35: 0.5 L more.",
        "At the sheet's price that is 6.70.",
        "By the data sheet, give or take 5 %.",
    ]
    nothing = fuel_of(minutes_of(power, turning), [session(120, 240)], Facts(), Site())
    assert fuel_text(nothing) == []
    assert fuel_json(nothing.sessions[0], nothing, Site()) == {"amount": None, "unit": None, "sd": None}


def test_an_empty_book_tells_nothing():
    power, turning = day()
    empty = minutes_of(power, turning).until(START - MINUTE)
    found = fuel_of(empty, [], Facts(), site())
    assert found.sessions == ()
    assert found.tank is None
