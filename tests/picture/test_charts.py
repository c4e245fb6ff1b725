"""Charts of what was found: what is drawn is what was reckoned, on axes that hold it."""

import math
from dataclasses import replace
from datetime import UTC
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from desktop.charging.advice.advice import LimitAdvice
from desktop.charging.battery.facts import OwnSoc
from desktop.charging.forecast.forecast import Fan
from desktop.charging.fuel.state import Fuel
from desktop.diagnosis.suspects import Evidence
from desktop.opening import open_recording
from desktop.picture.charts.battery import soc_chart
from desktop.picture.charts.burning import burning_chart
from desktop.picture.charts.chart import Axis, Chart
from desktop.picture.charts.imbalance import imbalance_chart
from desktop.picture.charts.limits import chance_chart, hours_chart
from desktop.picture.trends.fan import fan_from
from desktop.review import review
from desktop.words import Phrase

DEMOS = Path(__file__).parents[2] / "recordings" / "demo"
SECOND = 1_000_000_000
NOON = 1_750_000_000 * SECOND


@pytest.fixture(scope="module")
def overload():
    return review(*open_recording(DEMOS / "limit-too-high.csv"))


def held(chart: Chart) -> bool:
    """Whether the axes hold all that is drawn."""
    xs = [*(dot.x for dot in chart.dots), *(mark.x for mark in chart.uprights)]
    ys = [dot.y for dot in chart.dots]
    for curve in chart.curves:
        xs += curve.x.tolist()
        ys += curve.y[np.isfinite(curve.y)].tolist()
    for area in chart.areas:
        ys += [*area.low[np.isfinite(area.low)].tolist(), *area.high[np.isfinite(area.high)].tolist()]
    near = 1e-9
    return (
        chart.x.low - near <= min(xs) <= max(xs) <= chart.x.high + near
        and chart.y.low - near <= min(ys) <= max(ys) <= chart.y.high + near
    )


@given(st.floats(-1e4, 1e4), st.floats(0, 1e4))
def test_an_axis_holds_its_ends_and_ends_on_ticks(low, span):
    axis = Axis.over(Phrase("x"), low, low + span)
    assert axis.low <= low + 1e-6
    assert axis.high >= low + span - 1e-6 * max(1, abs(low + span))
    values = [value for value, _ in axis.ticks]
    assert values[0] == pytest.approx(axis.low, abs=1e-9 * max(1, abs(low)))
    assert values[-1] == pytest.approx(axis.high, abs=1e-9 * max(1, abs(axis.high)))


def test_an_axis_of_time_counts_seconds_by_the_clock():
    axis = Axis.of_time(NOON, NOON + 3600 * SECOND, UTC)
    assert (axis.low, axis.high) == (0, 3600)
    assert all(0 <= at <= 3600 and ":" in label for at, label in axis.ticks)
    assert str(axis.label) == "15 Jun 2025"
    assert str(Axis.of_time(NOON, NOON + 86_400 * SECOND, UTC).label) == "15 Jun 2025 to 16 Jun 2025"


def test_the_imbalance_is_drawn_as_recorded_and_as_corrected():
    time = NOON + np.arange(5) * 60 * SECOND
    recorded = np.array([100.0, 2000.0, np.nan, -500.0, 0.0])
    chart = imbalance_chart(Evidence(("dc",), time, recorded, recorded / 100), UTC)
    assert [str(curve.label) for curve in chart.curves] == ["As recorded", "Put right"]
    np.testing.assert_allclose(chart.curves[0].y, recorded / 1000)
    assert chart.curves[1].dashed
    assert held(chart)
    assert chart.level == 0
    nothing = np.full(5, np.nan)
    assert imbalance_chart(Evidence((), time, nothing, nothing), UTC) is None


def test_each_setting_of_the_limit_is_a_dot_that_says_whether_it_tripped(overload):
    advice = overload.limit_advice
    chart = hours_chart(advice, 42.0)
    assert held(chart)
    shapes = {dot.x: dot.shape for dot in chart.dots if str(dot.label) != "set now"}
    for each in advice.settings:
        if each.limit_a in shapes:
            assert shapes[each.limit_a] == ("cross" if each.trips else "disc")
    assert [mark.x for mark in chart.uprights] == [advice.best.limit_a, 42.0, advice.full_load_a]
    assert (chart.stretches[0].start, chart.stretches[0].stop) == advice.usual_a
    assert hours_chart(LimitAdvice(None, Phrase("?")), None) is None


def test_a_chance_is_drawn_only_where_the_replay_says_something(overload):
    advice = overload.limit_advice
    chart = chance_chart(advice, None)
    assert held(chart)
    drawn = {dot.x for dot in chart.dots}
    assert drawn == {
        each.limit_a
        for each in advice.settings
        if (each.trips or each.chance <= 0.3) and each.limit_a in drawn
    }
    silent = replace(advice, settings=tuple(replace(each, trips=0, chance=0.9) for each in advice.settings))
    assert chance_chart(silent, None) is None


def test_the_own_state_of_charge_has_a_band_of_two_deviations():
    time = NOON + np.arange(4000) * 60 * SECOND
    soc = np.linspace(40, 80, 4000)
    soc[:100] = np.nan
    own = OwnSoc(time, soc, np.full(4000, 1.5), soc + 3, 1, 0)
    chart = soc_chart(own, UTC)
    assert held(chart)
    area = chart.areas[0]
    known = np.isfinite(area.low)
    np.testing.assert_allclose((area.high - area.low)[known], 6.0)
    assert len(area.x) <= 1500
    assert "3 %" in str(chart.told)
    assert soc_chart(OwnSoc(time, np.full(4000, np.nan), soc, soc, 0, 0), UTC) is None


def test_low_load_stands_high_on_the_fuel_curve(overload):
    chart = burning_chart(overload.fuel)
    assert held(chart)
    each = chart.curves[0].y
    assert (np.diff(each) < 0).all()
    assert len(chart.dots) == 1
    assert math.isclose(chart.dots[0].y, overload.fuel.sessions[0].each_kwh)
    assert burning_chart(Fuel(None, (), None)) is None


@given(st.integers(-100, 1300))
def test_a_fan_is_never_drawn_before_the_cursor(seconds):
    time = NOON + np.arange(0, 1200, 60) * SECOND
    middle = np.linspace(50, 70, 20)
    fan = Fan(time, middle - 2, middle, middle + 5)
    part = fan_from(fan, NOON + seconds * SECOND)
    if seconds >= 1140:
        assert part is None
        return
    assert part.time[0] == max(NOON, NOON + seconds * SECOND)
    assert part.time[-1] == time[-1]
    assert ((part.low <= part.middle) & (part.middle <= part.high)).all()
    expected = np.interp((part.time - NOON) / SECOND, np.arange(0, 1200, 60), middle)
    np.testing.assert_allclose(part.middle, expected, atol=1e-6)
