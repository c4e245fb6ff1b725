"""What is wrong with notes that are being written, said of the note and the field that it is in."""

from datetime import datetime

import pytest

from desktop.opening import demos, open_recording
from desktop.review import review
from desktop.teaching.faults import faults_of, first_fault, present
from desktop.teaching.lesson import Asked, Note
from desktop.teaching.values import QUANTITIES, Values, is_value

AT = datetime(2025, 1, 22, 17, 12)
FINE = {"at": AT, "text": "It gives {generator}."}


@pytest.fixture(scope="module")
def plant():
    """A plant without sun."""
    return review(*open_recording(next(demo.path for demo in demos() if demo.path.stem == "limit-too-high")))


def told(plant, *tables, **heads):
    return [(each.note, each.field, str(each.text), each.blocks) for each in faults_of(heads, tables, plant)]


def test_where_all_is_well_nothing_is_told(plant):
    asked = {"ask": "Which?", "choices": ["a", "b"], "right": 1, "explain": "{load_highest} at {until}."}
    later = {"at": AT.replace(minute=20), "until": AT.replace(minute=30), "text": "x", "question": asked}
    assert told(plant, FINE, later, title="A title", about="x", author="y") == []


@pytest.mark.parametrize(
    ("changed", "field", "said"),
    [
        ({"at": None}, "at", "give it a time."),
        ({"at": "noon"}, "at", "“noon” is no time; 14:03 or 14:03:20 would be one."),
        ({"at": AT.replace(hour=12)}, "at", "recording: 2025-01-22 17:05:00 to 2025-01-22 17:50:00."),
        ({"until": AT.replace(minute=11)}, "until", "the span ends before it begins."),
        ({"until": AT.replace(day=23)}, "until", "outside the recording"),
        ({"text": "  "}, "text", "write a text."),
        ({"text": "x" * 2001}, "text", "shorten it to 2000 characters; it has 2001."),
        ({"text": "a\x07"}, "text", "take out the character U+0007"),
        ({"text": "{Generator}"}, "text", "{Generator} is no value; the nearest is {generator}."),
        ({"text": "{zzz}"}, "text", "{zzz} is no value; “Insert a value” offers those that there are."),
        ({"text": "{generator"}, "text", "a brace isn't closed"),
        ({"text": "generator}"}, "text", "a brace isn't closed"),
        ({"author": "a\u202e"}, "author", "U+202E RIGHT-TO-LEFT OVERRIDE"),
        ({"question": {"ask": "", "parts": ["battery"]}}, "ask", "write what is asked."),
        ({"question": {"ask": "{zzz}?", "parts": ["battery"]}}, "ask", "{zzz} is no value"),
        ({"question": {"ask": "?", "choices": []}}, "choices", "write at least two answers."),
        ({"question": {"ask": "?", "choices": ["a", "b"]}}, "choices", "mark the answer that is right."),
        (
            {"question": {"ask": "?", "choices": ["a", " a"], "right": 1}},
            "choices",
            "two answers are the same.",
        ),
        ({"question": {"ask": "?", "choices": ["a", "{"], "right": 1}}, "choices", "a brace isn't closed"),
        ({"question": {"ask": "?", "parts": []}}, "parts", "check at least one part"),
        ({"question": {"ask": "?", "parts": ["solar"]}}, "parts", "this plant has no “solar”: nobody could"),
        ({"question": {"ask": "?", "parts": ["ac"], "explain": "{zzz}"}}, "explain", "{zzz} is no value"),
    ],
)
def test_a_fault_is_told_with_note_and_field_and_blocks(plant, changed, field, said):
    table = {key: value for key, value in {**FINE, **changed}.items() if value is not None}
    found = [each for each in told(plant, FINE, table) if each[3]]
    assert [each[:2] for each in found[:1]] == [(1, field)]
    assert said in found[0][2]
    assert found[0][2].endswith(".")


@pytest.mark.parametrize(
    ("changed", "field", "said"),
    [
        ({"at": AT.replace(minute=11)}, "at", "comes before the note above it in time"),
        ({"text": "{missing} in all"}, "text", "{missing} isn't known at this time."),
        ({"look_at": ["solar"]}, "look_at", "this plant has no “solar”."),
        ({"question": {"ask": "?", "parts": ["battery", "solar"]}}, "parts", "this plant has no “solar”."),
        (
            {"look_at": ["battery"], "question": {"ask": "?", "parts": ["battery"]}},
            "look_at",
            "what is to be clicked is pointed at already.",
        ),
    ],
)
def test_what_may_stay_is_told_and_does_not_block(plant, changed, field, said):
    found = told(plant, FINE, {**FINE, **changed})
    assert [(each[0], each[1], each[3]) for each in found] == [(1, field, False)]
    assert said in found[0][2]


def test_what_stands_above_the_notes_is_looked_at_too(plant):
    (found,) = faults_of({"title": "a\u202eb"}, [FINE], plant)
    assert (found.note, found.field) == (None, "title")
    assert str(faults_of({}, [{**FINE, "text": ""}], plant)[0]) == "Note 1: write a text."


def test_a_lesson_that_was_read_is_looked_at_before_it_begins(plant):
    at = int(plant.recording.time[0])
    fine = Note(at, "x", question=Asked("?", (), ("battery",)))
    assert first_fault([fine], plant) is None
    unsolvable = Note(at, "x", question=Asked("?", (), ("grid",)))
    assert str(first_fault([fine, unsolvable], plant)).startswith("Note 2: this plant has no “grid”")
    unfilled = Note(at, "x", question=Asked("?", ("a", "{b}"), (0,)))
    assert "{b} is no value" in str(first_fault([unfilled], plant))


def test_the_parts_of_a_plant_are_those_that_it_has(plant):
    there = present(plant, int(plant.recording.time[0]))
    assert {"generator", "load", "battery", "converter", "ac", "dc", "loss"} <= there
    assert not {"solar", "grid", "solar_ac"} & there


def test_what_is_a_value_is_filled_and_nothing_else(plant):
    values = Values(plant, Note(int(plant.recording.time[0]), "x"))
    names = [*QUANTITIES, "at", "until", "span", "load_then", "load_highest", "load_nothing", "zzz", "then"]
    for name in names:
        assert is_value(name) == (values.text(name) is not None), name
