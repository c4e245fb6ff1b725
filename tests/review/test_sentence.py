"""The one sentence: right for every state of the plant, and never a number that isn't known."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from moments import NAN, finding_of, moment_of

from desktop.flow.streams import SINKS, SOURCES, STREAMS
from desktop.review.moment import GapNow, LimitNow
from desktop.review.sentence import sentence
from desktop.site import Site
from desktop.words import Phrase

ZONE = Site.parse('[site]\ntimezone = "Europe/Berlin"').zone
READ_AT = 1_767_225_600_000_000_000


def said(moment):
    headline, detail = sentence(moment, READ_AT, ZONE)
    return str(headline), str(detail)


CHARGING = {
    ("generator", "load"): 2310,
    ("generator", "battery"): 3570,
    ("generator", "losses"): 350,
    ("solar", "battery"): 810,
}

STATES = [
    pytest.param(
        CHARGING,
        {"current": 27.1, "limit_a": 30},
        "The generator carries 2.31 kW of house load and charges the battery with 3.57 kW. Solar adds 0.81 kW.",
        "The input is at 27.1 A of 30.0 A. Battery at 63 %, target 80 %.",
        id="generator carries and charges, sun helps",
    ),
    pytest.param(
        {("generator", "load"): 2000, ("generator", "battery"): 220, ("solar", "battery"): 530},
        {},
        "The generator carries 2.00 kW of house load and charges the battery with 0.22 kW. Solar adds 0.53 kW.",
        "Battery at 63 %, target 80 %.",
        id="sun charges more than the generator that carries",
    ),
    pytest.param(
        {("generator", "battery"): 3000, ("generator", "losses"): 300},
        {},
        "The generator charges the battery with 3.00 kW.",
        "Battery at 63 %, target 80 %.",
        id="generator charges only",
    ),
    pytest.param(
        {("generator", "load"): 900},
        {},
        "The generator carries 0.90 kW of house load. The battery is not being charged.",
        "Battery at 63 %.",
        id="charger idle",
    ),
    pytest.param(
        {("battery", "load"): 900, ("battery", "losses"): 60},
        {"running": True},
        "The generator runs without load. The battery carries 0.90 kW of house load.",
        "Battery at 63 %. Let it warm up for some minutes, then connect it.",
        id="warm-up",
    ),
    pytest.param(
        {("battery", "load"): 900, ("battery", "losses"): 60},
        {},
        "The battery carries 0.90 kW of house load.",
        "Battery at 63 %.",
        id="inverting from the battery",
    ),
    pytest.param(
        {("solar", "load"): 700, ("solar", "losses"): 50},
        {},
        "Solar carries 0.70 kW of house load.",
        "Battery at 63 %.",
        id="solar only",
    ),
    pytest.param(
        {("solar", "load"): 700, ("solar", "battery"): 1500, ("solar", "losses"): 50},
        {"soc": NAN},
        "Solar carries 0.70 kW of house load and charges the battery with 1.50 kW.",
        "",
        id="solar surplus",
    ),
    pytest.param(
        {("solar", "load"): 500, ("solar_ac", "load"): 300, ("solar_ac", "battery"): 400},
        {"soc": NAN},
        "Solar carries 0.80 kW of house load and charges the battery with 0.40 kW.",
        "",
        id="solar on both buses is one sun",
    ),
    pytest.param(
        {("solar", "load"): 700, ("battery", "load"): 900},
        {},
        "The battery and solar carry 1.60 kW of house load.",
        "Battery at 63 %.",
        id="sun and battery together",
    ),
    pytest.param(
        {("generator", "load"): 3000, ("battery", "load"): 900},
        {},
        "The generator and the battery carry 3.90 kW of house load.",
        "Battery at 63 %.",
        id="battery supports the generator",
    ),
    pytest.param(
        {("grid", "load"): 1000, ("grid", "battery"): 2000},
        {},
        "The grid carries 1.00 kW of house load and charges the battery with 2.00 kW.",
        "Battery at 63 %.",
        id="grid import",
    ),
    pytest.param(
        {("solar", "load"): 1000, ("solar", "grid"): 2000},
        {},
        "Solar carries 1.00 kW of house load. 2.00 kW goes to the grid.",
        "Battery at 63 %.",
        id="grid export",
    ),
    pytest.param({}, {}, "Nothing flows.", "Battery at 63 %.", id="standing still"),
    pytest.param(
        {},
        {"running": True},
        "The generator runs without load. Nothing flows.",
        "Battery at 63 %. Let it warm up for some minutes, then connect it.",
        id="generator idles and nothing else happens",
    ),
    pytest.param(
        {("solar", "dc_load"): 120, ("solar", "battery"): 300},
        {},
        "Solar charges the battery with 0.30 kW.",
        "DC loads take 0.12 kW. Battery at 63 %.",
        id="direct-current loads",
    ),
]


@pytest.mark.parametrize(("flows", "more", "headline", "detail"), STATES)
def test_every_state_is_told(flows, more, headline, detail):
    assert said(moment_of(flows, **more)) == (headline, detail)


def test_a_set_that_was_just_relieved_cools_down():
    _, detail = sentence(moment_of({("battery", "load"): 900}, running=True), READ_AT, ZONE, relieved_s=60)
    assert str(detail) == "Battery at 63 %. Let it cool down for some minutes, then stop it."


def test_before_anything_is_recorded():
    assert said(moment_of(row=-1)) == ("Nothing is recorded yet.", "")


def test_in_a_gap_nothing_is_claimed():
    headline, detail = said(moment_of(CHARGING, stale=True))
    assert headline == "Not known: there are no readings for this time."
    assert detail == "What is shown was read at 01:00:00."


def test_streams_that_nothing_tells_of_are_called_unknown():
    headline, detail = said(moment_of(CHARGING, unknown=("load",)))
    assert headline == "The battery charges with 4.38 kW."
    assert "What the house takes is not known." in detail
    headline, detail = said(moment_of(CHARGING, unknown=("battery", "solar")))
    assert headline == "The house takes 2.31 kW."
    assert "What the sun gives is not known." in detail
    assert "What the battery takes or gives is not known." in detail
    assert said(moment_of(CHARGING, unknown=STREAMS))[0] == "What flows is not known."


def test_an_urgent_finding_leads_and_says_what_to_do():
    over = finding_of("input_over_limit", "Input current reached 33.0 A.", "Turn off large loads.")
    cold = finding_of("battery_low", "Battery low.", "Charge it.")
    headline, detail = said(moment_of(CHARGING, findings=(over, cold)))
    assert headline == "Input current reached 33.0 A."
    assert detail.startswith("The generator carries 2.31 kW of house load and charges")
    assert detail.endswith("Turn off large loads.")


def test_a_mere_note_stands_below_the_state():
    note = finding_of("generator_lightly_loaded", "The generator ran at 12 % for 20 min.", "Charge harder.")
    headline, detail = said(moment_of(CHARGING, findings=(note,)))
    assert headline.startswith("The generator carries")
    assert detail.startswith("The generator ran at 12 % for 20 min.")
    assert "Charge harder." in detail


def test_power_that_goes_missing_is_told_with_its_uncertainty():
    missing = GapNow("ac", 350.0, 110.0, True)
    assert "0.35 kW ± 0.11 kW goes missing on the AC side." in said(moment_of(CHARGING, gaps=(missing,)))[1]
    surplus = GapNow("both", -350.0, 110.0, True)
    assert (
        "0.35 kW ± 0.11 kW more leaves than is seen to enter."
        in said(moment_of(CHARGING, gaps=(surplus,)))[1]
    )
    within = GapNow("dc", 20.0, 110.0, False)
    assert "missing" not in said(moment_of(CHARGING, gaps=(within,)))[1]


def test_a_limit_that_is_passed_is_told_before_it_becomes_a_finding():
    over = LimitNow("input_current", Phrase("Input current"), 33.0, None, 30.0, 0, 40, "A", "over")
    detail = said(moment_of(CHARGING, current=33, limit_a=30, limits=(over,)))[1]
    assert "Input current 33.0 A is above the limit of 30.0 A." in detail
    assert "The input is at" not in detail


@given(
    flows=st.dictionaries(
        st.tuples(st.sampled_from(SOURCES), st.sampled_from(SINKS)).filter(lambda pair: pair[0] != pair[1]),
        st.floats(0, 20_000),
    ),
    unknown=st.sets(st.sampled_from(STREAMS)),
    running=st.sampled_from([True, False, None]),
    soc=st.one_of(st.just(NAN), st.floats(0, 100)),
)
def test_no_moment_is_told_with_a_hole_in_it(flows, unknown, running, soc):
    headline, detail = said(moment_of(flows, unknown=tuple(unknown), running=running, soc=soc))
    assert headline
    for text in (headline, detail):
        assert "nan" not in text.lower().replace("finance", "")
        assert "None" not in text
        assert "{" not in text
        assert "  " not in text
    assert len(headline) < 160
