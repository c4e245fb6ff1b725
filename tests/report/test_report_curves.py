"""Each curve has a pane of its own, and its axis holds what matters."""

import numpy as np
import pytest
from report_reviews import demo, twice_wrong

from desktop.picture.trends.of_review import trends_of
from desktop.report.curves import chosen


def shown(name, *panes, as_read=False):
    return chosen(trends_of(demo(name)), panes, as_read)


def test_each_power_has_a_pane_of_its_own_and_limits_go_to_the_generator():
    source = shown("limit-too-high", "powers", "soc")
    assert [str(pane.title) for pane in source.panes] == ["Generator", "House", "Battery", "State of charge"]
    assert [series.pane for series in source.series] == [pane.key for pane in source.panes]
    limits = {str(limit.label): limit.pane for limit in source.limits}
    assert limits == {
        "input limit": "power_generator",
        "generator rating": "power_generator",
        "target": "soc_battery_soc",
    }


def test_a_fall_of_speed_under_load_is_within_the_axis():
    (speed,) = shown("limit-too-high", "generator_frequency").series
    values = speed.values()
    assert np.nanmin(values) == pytest.approx(52.4, abs=0.1)
    assert not np.any(values < 48.0)
    assert np.isnan(values[0])


def test_legs_stand_one_below_the_other():
    source = shown("unequal-legs", "generator_current")
    assert [str(pane.title) for pane in source.panes] == [
        "Generator current, leg 1",
        "Generator current, leg 2",
    ]
    assert len({limit.pane for limit in source.limits}) == 2


def test_a_limit_that_is_reported_stands_with_the_current():
    source = shown("limit-too-high", "generator_current")
    assert len(source.panes) == 1
    assert {series.pane for series in source.series} == {source.panes[0].key}
    assert len(source.series) == 2


def test_in_doubt_powers_are_drawn_as_they_were_read():
    found = twice_wrong()
    source = chosen(trends_of(found), ("powers",), as_read=True)
    house = next(series for series in source.series if str(series.label) == "House")
    assert np.array_equal(house.values(), found.recording.column("load_power"), equal_nan=True)
