"""The plant carried on: against a plain program of the same plant, and what must hold for any plant."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from outlook_plants import curve, days, plant, storage, varied_days
from plain_plant import plain_run

from desktop.charging.outlook.draw import Draws, draw
from desktop.charging.outlook.plant import ConverterFacts
from desktop.charging.outlook.plants import DOUBTS, Plants
from desktop.charging.outlook.rule import Hours, Rule
from desktop.charging.outlook.simulate import BOOKS, simulate
from recordings.errors import UsageError


def as_recorded(of, runs=1, load=1.0, sun=1.0, fuel=1.0, doubts=None):
    """Every run lives through the days in their order."""
    day = np.repeat(np.arange(len(of))[:, None], runs, axis=1)
    off = np.zeros((DOUBTS, runs)) if doubts is None else doubts
    return Draws(day, np.full(runs, load), np.full(runs, sun), np.full(runs, fuel), off)


def unbalanced(course):
    """The largest share of a day's energy that isn't accounted for."""
    books = course.books
    given_ = books["generator"] + books["solar"]
    went = books["demand"] - books["unserved"] + books["cut"] + books["lost"] + books["change"]
    return float(np.max(np.abs(given_ - went) / (given_ + books["demand"])))


CASES = {
    "sun on the DC side": (plant(store=12.0), varied_days(), Rule(30, 80, 20), None),
    "sun on the AC side": (plant(store=12.0), varied_days(sun=0, ac=4000), Rule(30, 90, 15), None),
    "both, and DC loads": (plant(), varied_days(sun=1500, ac=2500, dc_load=120), Rule(25, 70, 20), None),
    "quiet nights that leave it dark": (plant(), varied_days(sun=300), Rule(25, 60, 12), (20, 9)),
    "by the clock": (plant(), varied_days(), Rule(25, 95, 20, Hours(18, 21), 85), None),
    "lead-acid, slow and lossy near full": (
        plant(battery=storage(efficiency=0.88, efficiency_full=0.37, taper_soc=70, reserve_soc=45)),
        varied_days(),
        Rule(50, 95, 20),
        None,
    ),
    "an inverter and a generator that are too small": (
        plant(converter=ConverterFacts(20.0, 0.1, 800.0, 1500.0, 900.0), generator={"rated_w": 900.0}),
        varied_days(),
        Rule(40, 80, 20),
        None,
    ),
    "sun in plenty": (plant(), varied_days(sun=9000, ac=6000), Rule(30, 100, 20), None),
}


@pytest.mark.parametrize("name", CASES)
def test_it_does_what_a_plain_program_of_the_same_plant_does(name):
    of, when, rule, quiet = CASES[name]
    course = simulate(
        of,
        when,
        as_recorded(when, runs=2, load=1.1, sun=0.8, fuel=1.2),
        [rule],
        start_soc=55,
        quiet=None if quiet is None else Hours(*quiet),
    )
    rows = [
        [
            (
                1.1 * when.load[d, s],
                1.1 * when.dc_load[d, s],
                0.8 * when.sun_dc[d, s],
                0.8 * when.sun_ac[d, s],
            )
            for s in range(when.load.shape[1])
        ]
        for d in range(len(when))
    ]
    plain = plain_run(of, rows, rule, start_soc=55, quiet=quiet, fuel_factor=1.2)
    for run in range(2):
        for book in BOOKS:
            scale = max(1.0, *(abs(one[book]) for one in plain.books))
            assert course.books[book][0, run] == pytest.approx(
                [one[book] for one in plain.books], rel=1e-9, abs=1e-9 * scale
            ), book
        assert course.hours[0, run].sum() == pytest.approx(plain.hours, rel=1e-9)
        assert course.starts[0, run].sum() == plain.starts
        assert course.burnt[0, run].sum() == pytest.approx(plain.burnt, rel=1e-9)
        assert course.lasted[0, run] == pytest.approx(plain.lasted, rel=1e-9)
        assert course.soc[0, run] == pytest.approx(plain.soc, rel=1e-6)


def doubtful(**battery):
    """A plant of which neither the battery nor the converter is well known."""
    lead = {
        "efficiency": 0.88,
        "efficiency_full": 0.37,
        "taper_soc": 70.0,
        "capacity_sd": 0.1,
        "efficiency_sd": 0.04,
    }
    return plant(
        store=12.0,
        battery=storage(**(lead | battery)),
        converter=ConverterFacts(35.0, 0.06, 4000.0, 4500.0, 4000.0, idle_sd_w=12.0, slope_sd=0.02),
    )


def as_in_run(plants, run):
    """The plant that one of the runs lives with."""
    usual = plants.usual
    battery = replace(
        usual.battery,
        capacity_wh=float(plants.capacity_wh[run]),
        efficiency=float(plants.efficiency[run]),
        efficiency_full=float(plants.efficiency_full[run]),
    )
    law = {"idle_w": float(plants.idle_w[run]), "slope": float(plants.slope[run])}
    return replace(usual, battery=battery, converter=replace(usual.converter, **law))


def test_every_run_lives_with_a_plant_of_its_own():
    of, when, rule = doubtful(), varied_days(), Rule(30, 90, 20)
    doubts = np.random.default_rng(4).standard_normal((DOUBTS, 5))
    course = simulate(of, when, as_recorded(when, runs=5, doubts=doubts), [rule], start_soc=55)
    rows = [
        list(zip(*(one[day] for one in (when.load, when.dc_load, when.sun_dc, when.sun_ac)), strict=True))
        for day in range(len(when))
    ]
    for run in range(5):
        plain = plain_run(as_in_run(Plants.of(of, doubts), run), rows, rule, start_soc=55)
        assert course.burnt[0, run].sum() == pytest.approx(plain.burnt, rel=1e-9)
        assert course.lasted[0, run] == pytest.approx(plain.lasted, rel=1e-9)
        assert course.soc[0, run] == pytest.approx(plain.soc, rel=1e-6)
    assert np.ptp(course.burnt.sum(axis=2)) > 0
    assert unbalanced(course) < 1e-9


def test_doubt_about_the_battery_widens_the_range_and_hardly_moves_its_middle():
    when = days(700.0, count=6)
    doubts = np.random.default_rng(5).standard_normal((DOUBTS, 400))
    drawn = as_recorded(when, runs=400, doubts=doubts)
    sure, unsure = (
        simulate(doubtful(efficiency_sd=sd), when, drawn, [Rule(30, 80, 20)], start_soc=55).burnt.sum(axis=2)
        for sd in (0.0, 0.04)
    )
    wide = [float(np.ptp(np.quantile(one, (0.1, 0.9)))) for one in (sure, unsure)]
    assert wide[1] > 1.05 * wide[0]
    assert np.median(unsure) == pytest.approx(np.median(sure), rel=0.02)


def test_the_plain_cases_see_every_side_of_the_plant():
    dark = cut = ran = gone = 0
    for of, when, rule, quiet in CASES.values():
        hours = None if quiet is None else Hours(*quiet)
        course = simulate(of, when, as_recorded(when), [rule], start_soc=55, quiet=hours)
        dark += course.books["unserved"].sum() > 0
        cut += course.books["cut"].sum() > 0
        ran += course.hours.sum() > 0
        gone += np.isfinite(course.lasted).any()
    assert min(dark, cut, ran, gone) >= 2


def test_charging_is_as_long_as_worked_by_hand():
    # 7200 W × 0.8 − 2150 W = 3610 W AC; × 0.94 = 3393.4 W DC; 5.0 kWh missing at 97 % charge efficiency are
    # 5.1546 kWh, which take 1.5190 h before the taper (worked by hand).
    of = plant(
        battery=storage(
            capacity_wh=20_000.0, charge_w=9e3, efficiency=0.97, efficiency_full=0.97, taper_soc=100.0
        ),
        converter=ConverterFacts(0.0, 0.06, 9e3, 9e3, 9e3),
        generator={"rated_w": 7200.0, "w_per_a": 240.0, "unloaded_s": 0.0},
    )
    when = days(2150.0)
    course = simulate(of, when, as_recorded(when), [Rule(60, 85, 24)], start_soc=60)
    rate = (course.soc[0, 0, 1] - 60) / 100 * 20_000
    assert rate == pytest.approx(3393.4 * 0.97, rel=1e-6)
    assert 5000 / rate == pytest.approx(1.5190, abs=5e-5)
    # Steps of five minutes meet start and stop to within half a step each.
    assert course.hours.sum() / course.starts.sum() == pytest.approx(1.5190, abs=5 / 60)


def test_an_uneven_house_leaves_less_of_the_limit_for_charging():
    # 15 A × 230 W − 500 W − 1.4 × 500 W = 2250 W AC; × 0.94 − 35 W = 2080 W into the battery (worked by hand).
    of = plant(
        battery=storage(efficiency=1.0, efficiency_full=1.0, taper_soc=100.0), generator={"uneven": 1.4}
    )
    when = days(500.0)
    course = simulate(of, when, as_recorded(when), [Rule(60, 95, 15)], start_soc=60)
    assert (course.soc[0, 0, 1] - 60) / 100 * 10_000 == pytest.approx(2080.0, rel=1e-5)
    assert unbalanced(course) < 1e-9


def test_fuel_is_what_the_line_says():
    # F = 0.95 + 0.258 P: P = 5.2 kW for 2.087 h takes 4.7826 L (straight line through a published chart).
    of = plant(generator={"rated_w": 6000.0, "unloaded_s": 0.0, "curve": curve(0.95, 0.258)})
    when = days(4500.0)
    course = simulate(of, when, as_recorded(when), [Rule(99, 100, 30)], start_soc=50)
    hours, energy = course.hours.sum(), course.books["generator"].sum() / 1000
    assert course.burnt.sum() == pytest.approx(0.95 * hours + 0.258 * energy, rel=1e-12)
    assert curve(0.95, 0.258).burnt(2.087, 5200 * 2.087) == pytest.approx(4.7826, abs=5e-5)


def test_quiet_hours_are_kept_and_the_house_goes_dark_rather():
    when = days(900.0, count=4)
    rules = [Rule(25, 80, 20)]
    quiet = Hours(20, 8)
    course = simulate(plant(), when, as_recorded(when), rules, start_soc=60, quiet=quiet)
    busy = simulate(plant(), when, as_recorded(when), rules, start_soc=60)
    assert course.hours.max() <= 12 + 0.1
    assert course.books["unserved"].sum() > 0
    assert busy.books["unserved"].sum() == pytest.approx(0, abs=1e-6)


def test_rules_side_by_side_are_as_each_alone():
    when = varied_days()
    draws = draw(when, runs=7, horizon=9, first_date=20_006, seed=3)
    rules = [Rule(25, 80, 20), Rule(50, 95, 12), Rule(25, 90, 20, Hours(7, 9), 70)]
    together = simulate(plant(store=9.0), when, draws, rules, start_soc=40)
    for number, rule in enumerate(rules):
        alone = simulate(plant(store=9.0), when, draws, [rule], start_soc=40)
        assert np.array_equal(together.burnt[number], alone.burnt[0])
        assert np.array_equal(together.lasted[number], alone.lasted[0])


plants = st.builds(
    lambda capacity, reserve, charge, keep, full, taper, idle, slope, inverter, charger, rated: plant(
        store=8.0,
        battery=storage(
            capacity_wh=capacity,
            reserve_soc=reserve,
            charge_w=charge,
            efficiency=keep,
            efficiency_full=min(keep, full),
            taper_soc=taper,
        ),
        converter=ConverterFacts(idle, slope, inverter, charger, charger),
        generator={"rated_w": rated},
    ),
    st.floats(1500, 40_000),
    st.floats(0, 60),
    st.floats(200, 20_000),
    st.floats(0.5, 1.0),
    st.floats(0.3, 1.0),
    st.floats(50, 100),
    st.floats(0, 120),
    st.floats(0, 0.2),
    st.floats(300, 9000),
    st.floats(300, 9000),
    st.floats(600, 12_000),
)
rules = st.builds(
    lambda start, more, limit: Rule(start, min(100, start + more), limit),
    st.floats(5, 80),
    st.floats(5, 60),
    st.floats(3, 60),
)


@settings(max_examples=25, deadline=None)
@given(plants, rules, st.integers(0, 1000), st.floats(0, 6000), st.floats(0, 6000), st.floats(0, 100))
def test_books_close_and_the_battery_stays_within_bounds(of, rule, seed, sun_dc, sun_ac, soc):
    when = varied_days(count=3, seed=seed, sun=sun_dc, ac=sun_ac, dc_load=40.0)
    course = simulate(of, when, as_recorded(when, runs=2), [rule], start_soc=soc)
    assert unbalanced(course) < 1e-9
    for name in ("generator", "unserved", "cut", "lost"):
        assert course.books[name].min() >= -1e-6, name
    assert (course.books["unserved"] <= course.books["demand"] * (1 + 1e-9)).all()
    assert (course.books["cut"] <= course.books["solar"] * (1 + 1e-9) + 1e-6).all()
    assert course.soc.max() <= max(100, soc) + 1e-3
    assert course.soc.min() >= min(soc, of.battery.reserve_soc) - 1e-3


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 1000), rules, st.floats(1, 15), st.floats(0, 15))
def test_more_fuel_never_lasts_shorter(seed, rule, less, more):
    when = varied_days(count=4, seed=seed)
    draws = draw(when, runs=5, horizon=4, first_date=20_004, seed=seed)
    few = simulate(plant(store=less), when, draws, [rule], start_soc=40)
    many = simulate(plant(store=less + more), when, draws, [rule], start_soc=40)
    assert (many.lasted >= few.lasted).all()


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 1000), st.floats(1.0, 2.0))
def test_a_higher_load_never_lasts_longer_but_for_the_fuel_of_one_run(seed, factor):
    when = varied_days(count=4, seed=seed, sun=0.0)
    rule = Rule(30, 80, 20)
    usual = simulate(plant(store=9.0), when, as_recorded(when), [rule], start_soc=60)
    of_one_run = 1.05 * float(usual.burnt.sum() / usual.starts.sum())
    higher = simulate(plant(store=9.0), when, as_recorded(when, load=factor), [rule], start_soc=60)
    roomy = simulate(plant(store=9.0 + of_one_run), when, as_recorded(when), [rule], start_soc=60)
    assert (higher.lasted <= roomy.lasted).all()


def test_a_set_that_cannot_feed_the_converter_is_refused():
    with pytest.raises(UsageError, match="too small for this inverter-charger"):
        plant(generator={"rated_w": 50.0})
