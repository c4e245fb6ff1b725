"""An input limit that is kept leg by leg: the busiest leg decides what is left for charging."""

from dataclasses import replace

import numpy as np
import pytest
from charges import LFP, charge, share_of

from desktop.charging.forecast.ceilings import Ceilings, ceilings_of
from desktop.charging.forecast.room import burden_of
from desktop.charging.forecast.view import View, view_of
from desktop.site import Site

MINUTES = 60
THREE = Site.of({"generator": {"legs": 3}, "charger": {"limit_a": 200}, "battery": {"chemistry": "lfp"}})
LIMIT_W = 6000.0

UNEVEN = (
    LFP.replace("base_w = [350]", "legs = 3\nbase_w = [150, 100, 100]")
    .replace("limit_a = 18", "limit_a = 6")
    .replace("per_day = 14", "per_day = 2")
    + '[[cyclic]]\nname = "heater"\nwatts = 700\non_s = 900\noff_s = 900\nleg = 2\n'
)


def view(site: Site, house: np.ndarray, busiest: np.ndarray, *, metered: bool) -> View:
    """An hour of charging with all that the busiest leg leaves of the limit; the converter loses nothing."""
    taken = LIMIT_W - 3 * busiest
    source = taken + house
    one = np.ones(MINUTES)
    return View(
        end=MINUTES * 60_000_000_000,
        lag_s=30.0,
        time=np.arange(MINUTES) * 60_000_000_000,
        span_s=60 * one,
        first=0,
        source=source,
        else_ac=house,
        load=house,
        sun=0 * one,
        sun_ac=0 * one,
        dc_load=0 * one,
        battery=taken,
        converter_dc=taken,
        volts=52 * one,
        soc=np.linspace(40, 60, MINUTES),
        limit_w=LIMIT_W * one,
        charge_limit_a=np.nan * one,
        metered_v=True,
        idle_w=0.0,
        slope=0.0,
        celsius=25.0,
        uneven=LIMIT_W / source if metered else np.nan * one,
    )


def likeliest(seen: View, site: Site) -> Ceilings:
    """The likeliest ceilings."""
    return ceilings_of(seen, site)[0][1]


def switching(draw: int) -> tuple[np.ndarray, np.ndarray]:
    """The house and its busiest leg, W: 300 W evenly, and on one leg 400 W that come and go."""
    on = np.random.default_rng(draw).random(MINUTES // 6).repeat(6) < 0.5
    return 300 + 400.0 * on, 100 + 400.0 * on


@pytest.mark.parametrize("metered", [True, False])
def test_what_a_house_takes_off_the_limit_is_legs_times_its_busiest_leg(metered):
    house, busiest = switching(1)
    seen = view(THREE, house, busiest, metered=metered)
    found = likeliest(seen, THREE)
    assert found.held.sum() > 50
    burden = burden_of(seen, found, house, THREE)
    room = found.source_w.value - burden.middle
    assert room[found.held] == pytest.approx((LIMIT_W - 3 * busiest)[found.held], rel=0.01)
    # 400 W on the busiest of three legs count threefold.
    assert burden.slope == pytest.approx(3.0, abs=0.35)


def test_before_the_charge_it_is_told_by_the_load():
    house, busiest = switching(2)
    seen = replace(view(THREE, house, busiest, metered=False), first=30)
    found = likeliest(seen, THREE)
    burden = burden_of(seen, found, house, THREE)
    room = found.source_w.value - burden.middle
    assert room[:30] == pytest.approx((LIMIT_W - 3 * busiest)[:30], rel=0.06)


def test_with_one_leg_it_is_the_load():
    house, _ = switching(3)
    one = Site.of({"charger": {"limit_a": 200}})
    seen = replace(view(one, house, house / 3, metered=False), uneven=np.ones(MINUTES))
    found = likeliest(seen, one)
    assert (burden_of(seen, found, house, one).middle == house).all()
    assert found.source_w.value == pytest.approx(LIMIT_W, rel=0.01)


def test_a_plateau_is_not_taken_for_higher_than_it_is_where_readings_are_noisy():
    site = Site.of({"charger": {"limit_a": 40}, "battery": {"chemistry": "lfp"}})
    house = np.full(MINUTES, 300.0)
    values = []
    for seed in range(40):
        noise = 1 + 0.03 * np.random.default_rng(seed).standard_normal(MINUTES)
        plain = view(site, house, house / 3, metered=False)
        seen = replace(plain, uneven=np.ones(MINUTES), converter_dc=40 * 52 * noise, battery=40 * 52 * noise)
        found = likeliest(seen, site)
        assert found.charger_a.seen
        values.append(found.charger_a.value)
    assert np.mean(values) == pytest.approx(40.0, rel=0.004)
    assert np.std(values) < 1.5 * found.charger_a.sd


def test_a_charger_that_stays_as_it_is_while_the_house_changes_is_not_held_by_the_input():
    house, _ = switching(4)
    site = Site.of({"charger": {"limit_a": 200}, "battery": {"chemistry": "lfp"}})
    taken = np.full(MINUTES, 2600.0)
    plain = view(site, house, house / 3, metered=False)
    seen = replace(plain, uneven=np.ones(MINUTES), source=taken + house, battery=taken, converter_dc=taken)
    found = likeliest(seen, site)
    assert not found.held.any()
    assert found.charger_a.value == pytest.approx(50.0, rel=0.01)


def test_three_legs_one_of_them_heavily_loaded():
    """The sum of the legs lies far below the limit; what is forecast comes true all the same."""
    errors, held = [], []
    for seed in (1, 2):
        found = charge(UNEVEN, seed)
        session = found.sessions[0]
        done = found.reached(session, 60.0)
        for share in (0.5, 0.65, 0.8):
            at = share_of(session, done, share)
            sixty = found.site.model_copy(
                update={"battery": found.site.battery.model_copy(update={"target_soc": 60.0})}
            )
            seen = view_of(found.minutes, found.learned, sixty, at)
            assert seen is not None
            assert np.nanmedian(seen.source[seen.session]) < 0.9 * seen.limit_w[-1]
            said = replace(found, site=sixty).said(at)
            assert said is not None
            assert said.limited_by == "input limit"
            when = said.target(60.0)
            assert when is not None
            assert when.at is not None
            assert when.low is not None
            assert when.high is not None
            errors.append(abs(when.at - done) / (done - at))
            held.append(when.low <= done <= when.high)
    # Three forecasts of each of two charges: chance alone moves their median by some percent.
    assert np.median(errors) < 0.13
    assert np.mean(held) >= 0.6
