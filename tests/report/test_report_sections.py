"""What stands in a report, and what is left out where there is nothing to say."""

from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np
import pytest
from report_reviews import NAMES, demo, often

from desktop.charging.forecast.forecast import Span
from desktop.diagnosis.suspects import Evidence, Suspect
from desktop.report.account import Account
from desktop.report.blocks import Facts, Figure, Marked, Paragraph, Table, texts
from desktop.report.page import page_of
from desktop.report.pictures import Pictures
from desktop.report.sections.forecast import between
from desktop.report.sections.glossary import glossary
from desktop.report.sections.suspects import suspects
from desktop.report.times import reading_rate
from desktop.review import review
from desktop.review.telling import typical, worst
from desktop.site import Site
from desktop.words import Phrase
from recordings.recording import Recording

SECOND = 1_000_000_000
START = 1_770_000_000 * SECOND


def small(rows, **columns):
    time = START + np.arange(rows) * SECOND
    values = {name: np.full(rows, value, np.float32) for name, value in columns.items()}
    return review(Recording.from_columns(time, values), Site())


def every(page):
    """All blocks, those within others too."""
    blocks = [*page.opening, *(block for section in page.sections for block in section.blocks)]
    return [each for block in blocks for each in (block, *getattr(block, "inside", ()))]


def keys(page):
    return [section.key for section in page.sections]


@pytest.mark.parametrize("rows", [0, 1])
def test_an_empty_recording_has_a_page_too(rows):
    page = page_of(small(rows, load_power=300.0))
    assert page.verdict == "There are too few rows to say anything."
    assert "course" not in keys(page)
    assert "energy" not in keys(page)
    assert page.title == "A recording"


def test_sections_without_anything_to_say_are_left_out():
    page = page_of(small(300, load_power=300.0))
    assert {"findings", "suspects", "advice", "fuel", "forecast"} & set(keys(page)) == set()
    assert {"course", "energy", "settings", "recorded", "cautions", "glossary"} <= set(keys(page))
    told = [one for block in page.opening for one in [getattr(block, "text", "")]]
    assert "Nothing needs to be changed by what this recording shows." in told


def test_cautions_fit_the_plant():
    def told(**columns):
        section = next(one for one in page_of(small(300, **columns)).sections if one.key == "cautions")
        return " ".join(text for _, text in section.blocks[0].items)

    with_set, without = told(generator_power=1000.0, load_power=1000.0), told(load_power=300.0)
    assert "Exhaust gas kills" in with_set
    assert "Exhaust gas" not in without
    assert "hydrogen" in told(battery_power=300.0)
    for each in (with_set, without):
        assert "Local codes, the makers' instructions and licensed practice come first." in each
        assert "not a protective device" in each


def test_words_are_explained_where_they_are_used_only():
    told = dict(glossary(["The AC input limit held."]).blocks[0].terms)
    assert "AC input limit" in told
    assert "Absorption" not in told
    assert glossary(["Nothing of the kind."]) is None


@pytest.mark.parametrize("name", NAMES)
def test_a_typical_moment_is_near_the_medians_of_its_session(name):
    found = demo(name)
    for session in found.sessions:
        instant = typical(found, session.start, session.end)
        assert session.start <= instant <= session.end
        inside = slice(*np.searchsorted(found.recording.time, (session.start, session.end)))
        power = found.stream("generator")
        at = power[found.recording.row_at(instant)]
        assert at == pytest.approx(np.nanmedian(power[inside]), rel=0.1)


def test_a_finding_is_pictured_at_its_worst():
    found = demo("load-step")
    (finding,) = [one for one in found.findings if one.kind == "input_over_limit"]
    instant = worst(found, finding)
    assert finding.start <= instant <= finding.end
    assert found.moment(instant).generator.current == pytest.approx(finding.peak, rel=1e-6)


def test_a_stop_is_pictured_when_the_battery_has_taken_over():
    found = demo("limit-too-high")
    (finding,) = [one for one in found.findings if one.kind == "generator_stopped_under_load"]
    moment = found.moment(worst(found, finding))
    assert moment.streams["generator"].value == pytest.approx(0.0, abs=25)
    assert moment.streams["battery"].value < -1000


def test_what_to_do_names_one_number_for_the_limit():
    page = page_of(demo("limit-too-high"))
    to_do = next(block for block in page.opening if getattr(block, "ordered", False))
    best = demo("limit-too-high").limit_advice.best.limit_a
    assert f"set the input limit lower, to {best:.1f} A." in to_do.items[0][1]
    assert not [text for _, text in to_do.items[1:] if f"{best:.1f} A" in text]


def test_a_breaker_is_looked_at_before_the_generator_is_started_again():
    page = page_of(demo("limit-too-high"))
    told = next(block for block in page.opening if getattr(block, "ordered", False)).items[0][1]
    assert 0 < told.index("If a breaker has opened") < told.index("start it") < told.index("connect it")


def test_per_leg_is_said_only_where_there_are_several():
    one, two = (
        " ".join(text for block in every(page_of(demo(name))) for text in texts(block))
        for name in ("limit-too-high", "unequal-legs")
    )
    assert "per leg" not in one
    assert "A per leg" in two


def test_the_trends_say_that_findings_are_tinted_only_where_one_is():
    for name, tinted in (("load-step", True), ("healthy-charge", False), ("reversed-battery-meter", False)):
        course = next(one for one in page_of(demo(name)).sections if one.key == "course")
        figure = next(block for block in course.blocks if isinstance(block, Figure))
        assert ("what is tinted is a finding" in figure.caption) is tinted


def test_how_to_read_a_flow_diagram_is_told_once():
    captions = [each.caption for each in every(page_of(demo("limit-too-high"))) if isinstance(each, Figure)]
    assert ["Powers are made to add up" in each for each in captions] == [True, False, False, False]


def suspect(text, rivals=()):
    return Suspect(
        channel="battery_power",
        fault="reversed",
        parameter=float("nan"),
        parameter_sd=float("nan"),
        unit="",
        explains=0.97,
        rivals=rivals,
        text=Phrase(text),
        advice=Phrase("Look at the clamp."),
        start=START,
        end=START + 600 * SECOND,
    )


def test_suspects_are_told_with_evidence_rivals_and_advice():
    nothing = Evidence((), np.empty(0, np.int64), np.empty(0), np.empty(0))
    one = suspect("The battery meter counts the wrong way round.", (suspect("The solar meter is off."),))
    found = SimpleNamespace(suspects=(one,), site=Site(), evidence_against=lambda _: nothing)
    account = SimpleNamespace(figures=SimpleNamespace(recorded=found))
    (block,) = suspects(account, Pictures(Account.of(demo("load-step")))).blocks
    told = " ".join(getattr(each, "text", "") for each in block.inside)
    assert block.title == "The battery meter counts the wrong way round."
    assert "97 % of the imbalance is gone" in told
    assert "Look at the clamp." in told
    assert [each.items for each in block.inside if hasattr(each, "items")] == [
        (("", "The solar meter is off."),)
    ]
    assert not [each for each in block.inside if isinstance(each, Figure)]


def test_a_reversed_meter_is_shown_with_what_putting_it_right_does():
    section = next(one for one in page_of(demo("reversed-battery-meter")).sections if one.key == "suspects")
    (block,) = section.blocks
    assert block.title == str(demo("reversed-battery-meter").suspects[0].text)
    (figure,) = [each for each in block.inside if isinstance(each, Figure)]
    assert "As recorded" in figure.svg
    assert "Put right" in figure.svg
    assert "suspects" not in keys(page_of(demo("load-step")))


def test_a_long_list_is_cut_and_says_so():
    page = page_of(often("limit-too-high", 80))
    course, findings = (
        next(one for one in page.sections if one.key == key) for key in ("course", "findings")
    )
    (table,) = [block for block in course.blocks if isinstance(block, Table)]
    assert len(table.rows) == 40
    assert any(getattr(block, "text", "") == "And 40 more." for block in course.blocks)
    told = [block for block in findings.blocks if isinstance(block, Marked)]
    assert len(told) == 24
    assert {block.title for block in told} == {"Generator overloaded → Generator stopped under load"}
    assert len([each for block in told for each in block.inside if isinstance(each, Figure)]) <= 12


def test_the_first_page_tells_what_happened_what_to_do_the_danger_and_how_sure():
    page = page_of(demo("limit-too-high"), made=datetime(2026, 3, 2, 12, tzinfo=UTC))
    labels = [block.label for block in page.opening if isinstance(block, Paragraph)]
    why = f"Why {demo('limit-too-high').limit_advice.best.limit_a:.1f} A:"
    assert labels == ["What happened", "What to do", why, "Danger:", "How sure this is:"]
    (danger,) = [block.text for block in page.opening if getattr(block, "label", "") == "Danger:"]
    assert "let it cool down before you touch or refuel it" in danger
    (facts,) = [block for block in page.opening if isinstance(block, Facts)]
    assert [what for _, what in facts.facts] == [
        "state of charge",
        "generator under load",
        "from the generator",
        "fuel burnt",
    ]
    assert page.footer.startswith("Report of 2026-03-02 by Headrace ")


def test_a_healthy_charge_tells_what_it_brought():
    page = page_of(demo("healthy-charge"))
    assert "Generator and sun charged the battery from 27 % to 83 %" in page.verdict
    (session,) = demo("healthy-charge").sessions
    put_in = Phrase(
        "the generator put in {generator:Wh}, the sun {sun:Wh}.",
        generator=session.to_battery_wh,
        sun=session.solar_to_battery_wh,
    )
    assert str(put_in) in page.verdict
    assert page.severity is None


def test_a_day_without_a_generator_tells_what_the_sun_brought():
    verdict = page_of(demo("ac-coupled-solar")).verdict
    assert "the sun gave 12.91 kWh, and the battery went from 37 % to 99 %" in verdict


def test_a_grid_that_failed_is_told_first_and_who_carried_the_house():
    page = page_of(demo("grid-failure"))
    assert "The grid gave nothing from 16:42 to 18:05." in page.verdict
    course = next(one for one in page.sections if one.key == "course")
    told = " ".join(text for block in course.blocks for text in texts(block))
    assert "16:42 to 18:05: the generator" in told


def test_a_note_stands_on_the_first_page_where_nothing_is_worse():
    page = page_of(demo("lead-acid-absorption"))
    told = " ".join(text for block in page.opening for text in texts(block))
    assert "ran below" in told
    assert "hydrogen" in told


def test_a_second_event_of_a_kind_is_told_with_its_own_numbers():
    found = demo("two-overcast-days")
    told = " ".join(text for block in page_of(found).opening for text in texts(block))
    for finding in found.findings:
        assert str(finding.text) in told
    (figure,) = [block for block in page_of(found).opening if isinstance(block, Figure)]
    assert figure.caption.startswith("Battery low: ")


def test_the_same_again_is_told_by_its_times():
    told = [text for block in page_of(often("limit-too-high", 3)).opening for text in texts(block)]
    assert "The same again." in told
    cause = str(demo("limit-too-high").findings[-1].cause)
    assert not [text for text in told if cause in text]


def test_a_span_without_an_end_is_told_in_words():
    at = START
    assert between(Span(None, None, None), UTC) == "not in this run"
    told = between(Span(at, at, None), UTC)
    assert told.endswith(" at the earliest; perhaps not in this run")


@pytest.mark.parametrize(
    ("interval", "told"),
    [(1.0, "one reading a second"), (60.0, "one reading a minute"), (20.0, "one reading every 20 s")],
)
def test_how_often_it_was_read(interval, told):
    assert reading_rate(interval) == told
