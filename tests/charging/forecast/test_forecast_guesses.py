"""What battery it is where the sheet doesn't say, and what can be foretold all the same."""

from dataclasses import replace

import numpy as np
import pytest
from charges import AGM, LFP, charge, reviewed, share_of

from desktop.charging.forecast.ceilings import ceilings_of
from desktop.charging.forecast.forecast import FULL_ENOUGH
from desktop.charging.forecast.guesses import guesses_of
from desktop.charging.forecast.limits import floats
from desktop.charging.forecast.store import store_of
from desktop.charging.forecast.view import view_of
from desktop.site import Site

EMPTY = Site.of({})
NMC = LFP.replace('"lfp"', '"nmc"').replace("capacity_kwh = 14", "capacity_kwh = 14\nnominal_v = 48.1")
FULL = LFP.replace("hours = 4.5", "hours = 7").replace("limit_a = 18", "limit_a = 25")


def unsaid(text):
    """A charge of which the sheet says nothing."""
    found = charge(text)
    return reviewed(found.recording, found.soc, EMPTY)


def guessed(found, site, share):
    """Weights by chemistry at this share of the first session."""
    session = found.sessions[0]
    view = view_of(found.minutes, found.learned, site, share_of(session, session.end, share))
    guesses = guesses_of(view, site)
    assert sum(one.weight for one in guesses) == pytest.approx(1.0)
    assert [one.weight for one in guesses] == sorted((one.weight for one in guesses), reverse=True)
    weights = {}
    for one in guesses:
        name = "lead" if one.lead_acid else one.site.battery.chemistry
        weights[name] = weights.get(name, 0.0) + one.weight
    return weights


@pytest.mark.parametrize(("text", "kind"), [(LFP, "lfp"), (NMC, "nmc"), (AGM, "lead")])
def test_the_charge_itself_tells_what_battery_it_is(text, kind):
    found = unsaid(text)
    assert guessed(found, EMPTY, 0.6)[kind] > 0.8


def test_what_the_sheet_says_is_not_guessed():
    found = charge(LFP)
    assert guessed(found, Site.of({"battery": {"chemistry": "agm"}}), 0.6) == pytest.approx({"lead": 1.0})


def test_legs_are_those_whose_currents_are_read_else_there_may_be_one_or_three():
    found = unsaid(LFP)
    session = found.sessions[0]
    view = view_of(found.minutes, found.learned, EMPTY, share_of(session, session.end, 0.6))
    assert {one.site.generator.legs for one in guesses_of(replace(view, legs=0), EMPTY)} == {1, 3}
    assert {one.site.generator.legs for one in guesses_of(replace(view, legs=2), EMPTY)} == {2}
    told = Site.of({"generator": {"legs": 1}})
    assert {one.site.generator.legs for one in guesses_of(replace(view, legs=3), told)} == {1}


def test_without_a_voltage_all_stay_possible():
    found = unsaid(LFP)
    session = found.sessions[0]
    view = view_of(found.minutes, found.learned, EMPTY, share_of(session, session.end, 0.6))
    blind = replace(view, metered_v=False, volts=np.ones(len(view.time)))
    assert {one.site.battery.chemistry for one in guesses_of(blind, EMPTY)} >= {"lfp", "nmc", "agm"}


@pytest.mark.parametrize(("text", "target", "error"), [(LFP, 80.0, 0.1), (FULL, 100.0, 0.15)])
def test_an_empty_sheet_foretells_a_lithium_charge(text, target, error):
    found = unsaid(text)
    session = found.sessions[0]
    done = found.reached(session, min(target, FULL_ENOUGH))
    for share in (0.6, 0.8):
        at = share_of(session, done, share)
        said = found.said(at)
        assert said is not None
        when = said.target(target)
        assert when is not None
        assert None not in (when.at, when.low, when.high)
        # The range holds four of five outcomes; none is far from it.
        near = 0.5 * error * (done - at)
        assert when.low - near <= done <= when.high + near
        assert abs(when.at - done) < error * (done - at)


def test_an_empty_sheet_does_not_tell_when_lead_acid_is_full():
    found = unsaid(AGM)
    session = found.sessions[0]
    said = found.said(share_of(session, session.end, 0.5))
    assert said is not None
    assert said.untold == (100.0,)


def test_what_was_exceeded_by_far_is_not_what_holds_the_charge():
    found = unsaid(LFP)
    session = found.sessions[0]
    at = share_of(session, session.end, 0.6)
    view = view_of(found.minutes, found.learned, EMPTY, at)
    late = np.arange(len(view.time)) >= len(view.time) - 30
    little = replace(
        view,
        battery=np.where(late, 60.0, view.battery),
        converter_dc=np.where(late, 60.0, view.converter_dc),
        source=np.where(late, 400.0, view.source),
        soc=np.full(len(view.time), 98.0),
    )
    store = store_of(view, EMPTY)
    assert store is not None
    for _, ceilings in ceilings_of(little, EMPTY):
        assert floats(little, ceilings, EMPTY, store.capacity_ah)
