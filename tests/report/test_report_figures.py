"""No number is printed that no meter ever read, and what is in doubt is marked so."""

from types import SimpleNamespace

import pytest
from report_reviews import demo, figures, twice_wrong

from desktop.report.blocks import Facts, Figure, Paragraph, Table, texts
from desktop.report.page import page_of
from desktop.review.corrected import correction_phrase, figures_of

NOTE = "Reckoned with the sign of battery power turned; as recorded the powers don't add up."


def section(page, key):
    return next(one for one in page.sections if one.key == key)


def test_a_meter_that_reads_backwards_is_put_right():
    told = figures("reversed-battery-meter")
    assert told.put_right is told.recorded.suspects[0]
    assert str(told.note) == NOTE
    assert told.review.balance.in_balance_share > 0.9
    assert {one.kind for one in told.findings} == {"meter_suspect"}
    assert {one.kind for one in told.gone} == {"power_unaccounted", "soc_disagrees"}


def test_energies_are_those_of_the_readings_put_right():
    """By the corrected readings alone the battery took 5.5 kWh; smeared over all meters it would be 2.3 kWh."""
    told = figures("reversed-battery-meter")
    power = -told.recorded.recording.column("battery_power").astype(float)
    hours = told.recorded.interval_s / 3600
    by_hand = power[power > 0].sum() * hours
    assert told.review.energy.forward["battery"].wh == pytest.approx(by_hand, rel=0.02)
    assert told.recorded.energy.forward["battery"].wh < 0.6 * by_hand


@pytest.mark.parametrize("name", ["healthy-charge", "limit-too-high", "unequal-legs", "two-overcast-days"])
def test_where_all_adds_up_nothing_is_put_right(name):
    told = figures(name)
    assert told.review is told.recorded
    assert not told.in_doubt
    assert str(told.note) == ""
    assert told.findings == told.recorded.findings


def test_every_table_and_picture_says_that_it_is_put_right():
    page = page_of(demo("reversed-battery-meter"))
    assert NOTE in [block.text for block in page.opening if isinstance(block, Paragraph)]
    (first,) = [block for block in page.opening if isinstance(block, Figure)]
    assert NOTE in first.caption
    for key in ("course", "energy", "forecast", "advice"):
        for block in section(page, key).blocks:
            if isinstance(block, (Table, Figure)):
                assert NOTE in block.caption
    for key in ("fuel", "battery"):
        assert NOTE in " ".join(text for block in section(page, key).blocks for text in texts(block))


def test_the_evidence_is_as_recorded():
    (block,) = section(page_of(demo("reversed-battery-meter")), "suspects").blocks
    (figure,) = [each for each in block.inside if isinstance(each, Figure)]
    assert "As recorded" in figure.svg
    assert NOTE not in figure.caption


def test_what_the_meter_brought_about_is_told_within_it():
    page = page_of(demo("reversed-battery-meter"))
    titles = [block.title for block in section(page, "findings").blocks]
    assert titles == ["A meter seems to read wrong"]
    told = " ".join(text for block in page.opening for text in texts(block))
    assert "Power unaccounted for; State of charge disagrees with what flowed." in told


def test_without_a_correction_energies_are_in_doubt_and_no_flow_is_drawn():
    page = page_of(twice_wrong())
    (facts,) = [block for block in page.opening if isinstance(block, Facts)]
    assert "from the generator (in doubt)" in [what for _, what in facts.facts]
    (energy, ways) = [block for block in section(page, "energy").blocks if isinstance(block, Table)]
    assert all(row[0].endswith("(in doubt)") for row in energy.rows)
    assert all(row[0].endswith("(in doubt)") for row in ways.rows[:-1])
    flows = [
        each
        for one in page.sections
        for block in one.blocks
        for each in (block, *getattr(block, "inside", ()))
        if isinstance(each, Figure) and 'id="flow' in each.svg
    ]
    assert not flows
    assert not [block for block in page.opening if isinstance(block, Figure)]


def test_no_limit_is_advised_by_numbers_in_doubt():
    told = [text for block in section(page_of(twice_wrong()), "advice").blocks for text in texts(block)]
    assert not [text for text in told if " A" in text]


def test_a_correction_that_settles_nothing_is_not_made():
    found = twice_wrong()
    told = figures_of(found, lambda recording, site: found)
    assert told.put_right is None
    assert told.in_doubt


@pytest.mark.parametrize(
    ("fault", "parameter", "said"),
    [
        ("reversed", 0.0, "with the sign of load power turned"),
        ("scale", 2.0, "with load power times 0.50"),
        ("one_leg", 0.5, "with load power times 2.00"),
        ("offset", 120.0, "with 0.12 kW taken off load power"),
        ("stuck", 120.0, "without the readings of load power that stood still"),
        ("lag", 20.0, "with load power 20 s earlier"),
        ("unmetered_load", 300.0, "as corrected"),
    ],
)
def test_each_correction_is_told(fault, parameter, said):
    one = SimpleNamespace(channel="load_power", fault=fault, parameter=parameter, channels=("load_power",))
    assert str(correction_phrase(one)) == said


def test_swapped_meters_are_told():
    one = SimpleNamespace(
        channel="load_power+solar_power", fault="swapped", channels=("load_power", "solar_power")
    )
    assert str(correction_phrase(one)) == "with load power and solar power exchanged"
