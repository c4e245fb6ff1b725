"""An outlook as charts: what is drawn is what was reckoned, on axes that hold it."""

import numpy as np
import pytest
from outlook_plants import plant, varied_days

from desktop.charging.outlook.candidates import candidates
from desktop.charging.outlook.outlook import Question, outlook
from desktop.picture.outlook import fuel_chart, rules_chart, soc_chart

QUESTION = Question(first_date=20_006, start_soc=60, horizon=15, runs=40)


@pytest.fixture(scope="module")
def found():
    of = plant(store=25.0)
    return outlook(of, varied_days(), candidates(of, 20.0), QUESTION)


def test_fuel_falls_from_what_there_is_to_nothing(found):
    chart = fuel_chart(found)
    (band,) = chart.bands
    assert band.rule == found.best
    assert band.x.tolist() == list(range(16))
    assert band.middle[0] == band.low[0] == band.high[0] == 25
    assert (np.diff(band.middle) <= 0).all()
    assert (band.low <= band.middle).all()
    assert (band.middle <= band.high).all()
    lasts = found.chosen.days_of_fuel
    assert band.middle[int(lasts.p50)] > 0
    assert band.high[int(np.ceil(lasts.p90)) + 1] == 0
    assert chart.y.low == 0
    assert chart.y.high >= 25
    assert fuel_chart(outlook(plant(), varied_days(), candidates(plant()), QUESTION)) is None


def test_state_of_charge_goes_round_the_clock(found):
    chart = soc_chart(found, (0, found.best))
    assert [band.rule for band in chart.bands] == [0, found.best]
    for band in chart.bands:
        assert band.x[[0, -1]].tolist() == [0, 24]
        assert band.middle[0] == band.middle[-1]
        assert ((band.low >= 19.9) & (band.low <= band.middle) & (band.middle <= band.high)).all()
        assert band.high.max() <= 100
    assert [label for _, label in chart.x.ticks] == ["0", "3", "6", "9", "12", "15", "18", "21", "24"]


def test_every_rule_is_a_mark_within_the_axes(found):
    chart = rules_chart(found, 0.001)
    assert len(chart.marks) == len(found.rules)
    assert [mark.rule for mark in chart.marks if mark.best] == [found.best]
    for mark in chart.marks:
        assert chart.x.low <= mark.x[0] <= mark.x[1] <= mark.x[2] <= chart.x.high
        assert chart.y.low <= mark.y[0] <= mark.y[1] <= mark.y[2] <= chart.y.high
        assert str(mark.label).startswith("Start it")
    assert str(chart.y.label) == "L a day"
