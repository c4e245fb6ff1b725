"""Values that notes quote: what the review says, and nothing else that stands in braces."""

from pathlib import Path

import pytest

from desktop import languages
from desktop.opening import demos, open_recording
from desktop.picture.replay import typed_instant
from desktop.review import review
from desktop.teaching.lesson import Note
from desktop.teaching.values import QUANTITIES, Values, fields


@pytest.fixture(scope="module")
def overload():
    (demo,) = (each for each in demos() if each.path.stem == "limit-too-high")
    return review(*open_recording(demo.path))


@pytest.fixture(scope="module")
def values(overload):
    first, zone = int(overload.recording.time[0]), overload.site.zone
    at, until = (typed_instant(text, first, zone) for text in ("17:23:58", "17:24:17"))
    return Values(overload, Note(at, "", until))


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        # What the demo's own channels say at these seconds.
        ("{input_limit}", "42.0 A"),
        ("{generator_rating}", "4.00 kW"),
        ("{generator_frequency_lowest}", "52.4 Hz"),
        ("{input_current_highest}", "53.7 A"),
        ("{generator_voltage_then}", "106 V"),
        ("{at} {until} {span}", "17:23:58 17:24:17 19 s"),
        ("{solar}", "0 W"),
        ("{missing_dc_highest}", "not known"),
    ],
)
def test_values_are_what_the_review_says(values, text, shown):
    assert values.filled(text) == shown


def test_a_metered_value_is_its_channels_reading(overload, values):
    row = 18 * 60 + 58
    read = float(overload.recording.column("generator_power")[row])
    assert values.text("generator_metered") == f"{read / 1000:.2f} kW"


@pytest.mark.parametrize(
    "text",
    [
        "{}",
        "{0}",
        "{generator.__class__}",
        "{generator!r}",
        "{generator:W}",
        "{{generator}",
        "{nothing}",
        "{generator_}",
        "{_then}",
        "100 % {",
        "}{",
        "%s %(generator)s ${generator",
        "<b>{</b>",
    ],
)
def test_other_braces_stay_as_they_are_written(values, text):
    assert values.filled(text) == text.replace("{generator}", values.text("generator"))


def test_a_value_that_looks_like_a_field_is_not_filled_again(values):
    assert values.filled("{{load}}").startswith("{0.")


def test_every_quantity_has_a_text(values):
    assert all(values.text(name) for name in QUANTITIES)
    assert fields("{load} and {no_such} {load}") == ["load", "no_such", "load"]


def test_numbers_follow_the_language(values):
    languages.use("de")
    try:
        assert values.filled("{input_limit} Load", ours=False) == "42,0 A Load"
    finally:
        languages.use("en")


def test_our_texts_are_translated_and_others_are_not(values):
    languages.use("de")
    try:
        assert values.filled("Battery", ours=True) == "Batterie"
        assert values.filled("Battery") == "Battery"
    finally:
        languages.use("en")


def test_the_recordings_lie_where_the_notes_do():
    assert all(Path(demo.path).exists() for demo in demos())
