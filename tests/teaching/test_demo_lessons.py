"""The lessons that come along: every number in them is the review's, and what they say is so."""

import re
import tomllib
from functools import lru_cache

import pytest

from desktop.opening import demos, open_recording
from desktop.pack.beside import notes_beside
from desktop.review import review
from desktop.teaching.faults import faults_of, first_fault
from desktop.teaching.lesson import PANELS, load_notes
from desktop.teaching.notes import NotesSheet
from desktop.teaching.values import Values, fields

LESSONS = {demo.path.stem: demo.path for demo in demos() if notes_beside(demo.path) is not None}
STEPS = [
    (name, number)
    for name in LESSONS
    for number in range(len(NotesSheet.load(notes_beside(LESSONS[name])).note))
]


@lru_cache
def opened(name):
    found = review(*open_recording(LESSONS[name]))
    time = found.recording.time
    notes = load_notes(notes_beside(LESSONS[name]), int(time[0]), int(time[-1]), found.site.zone)
    return found, notes


def texts(note):
    asked = note.question
    return [note.text, *((asked.ask, *asked.choices, asked.explain) if asked else ())]


def test_there_are_three_lessons_that_ask():
    assert set(LESSONS) == {"healthy-charge", "limit-too-high", "reversed-battery-meter"}
    for name in LESSONS:
        _, notes = opened(name)
        assert notes.ours
        assert notes.title
        assert notes.asks
        assert len(notes.notes) >= 5
        kinds = {bool(note.question.choices) for note in notes.notes if note.question}
        assert kinds == {True, False}


@pytest.mark.parametrize(("name", "number"), STEPS)
def test_no_number_is_typed_and_every_value_is_known(name, number):
    found, notes = opened(name)
    note = notes.notes[number]
    values = Values(found, note)
    for text in texts(note):
        assert not re.search(r"\d", text)
        assert all(values.text(field) not in (None, "not known") for field in fields(text))
        assert "{" not in values.filled(text, ours=True)


@pytest.mark.parametrize(("name", "number"), STEPS)
def test_what_is_pointed_at_or_clicked_is_there(name, number):
    found, notes = opened(name)
    note = notes.notes[number]
    streams = found.moment(note.at).streams
    right = note.question.right if note.question else ()
    for part in (*note.look_at, *(each for each in right if isinstance(each, str))):
        assert part in ("converter", "ac", "dc", *PANELS) or streams[part].knowledge != "absent"


@pytest.mark.parametrize("name", LESSONS)
def test_a_lesson_goes_forward_in_time(name):
    _, notes = opened(name)
    ends = [each for note in notes.notes for each in (note.at, note.end)]
    assert ends == sorted(ends)


@pytest.mark.parametrize("name", LESSONS)
def test_the_texts_read_well(name):
    _, notes = opened(name)
    for note in notes.notes:
        for text in texts(note):
            assert text == " ".join(text.split())
            assert not text or text[-1] in ".?"
            assert text[:1].isupper() or text.startswith("{")
        if note.question is not None:
            assert note.question.explain
            assert note.question.ask[-1] in ".?"


def quantity(name, number, *names):
    """Values of a note, as numbers."""
    found, notes = opened(name)
    values = Values(found, notes.notes[number])
    return [values._found(each)[1] for each in names]


def test_the_healthy_charge_says_what_happens():
    going = quantity(
        "healthy-charge", 1, "generator", "generator_then", "load_then", "generator_to_battery_then"
    )
    assert going[0] < 50 < going[2] < going[3] < going[1]
    before, after, most, limit = quantity(
        "healthy-charge", 3, "converter_ac", "converter_ac_then", "input_current_highest", "input_limit"
    )
    assert after < 0.7 * before
    assert most < limit
    (back,) = quantity("healthy-charge", 4, "converter_ac")
    assert back == pytest.approx(before, rel=0.05)
    at, then, sun, load = quantity(
        "healthy-charge", 5, "generator", "generator_then", "solar_then", "load_then"
    )
    assert at > 4000
    assert abs(then) < 50
    assert sun > load
    found, notes = opened("healthy-charge")
    soc = found.moment(notes.notes[5].at).battery.soc
    assert soc >= found.site.battery.target_soc
    # It runs on without load before it stops.
    stops = found.moment(notes.notes[5].at + 60_000_000_000)
    assert stops.generator.running
    assert abs(stops.streams["generator"].value) < 50


def test_the_overload_says_what_happens():
    rated, limit_w, generator = quantity(
        "limit-too-high", 0, "generator_rating", "input_limit_power", "generator"
    )
    assert generator < rated < limit_w
    before, after, amps, limit, then, most = quantity(
        "limit-too-high",
        1,
        "converter_ac",
        "converter_ac_then",
        "input_current_then",
        "input_limit",
        "generator_then",
        "generator_highest",
    )
    assert after < 0.95 * before
    assert amps < limit
    assert rated < then < most
    now, then, battery = quantity("limit-too-high", 2, "generator", "generator_then", "battery_to_load_then")
    assert now > 1.2 * rated
    assert abs(then) < 50 < 2000 < battery


def test_the_liar_lies_as_it_is_said():
    missing, generator = quantity("reversed-battery-meter", 0, "missing_dc", "generator_metered")
    assert missing > generator
    soc, soc_then, volts, volts_then, reading = quantity(
        "reversed-battery-meter",
        1,
        "battery_soc",
        "battery_soc_then",
        "battery_voltage",
        "battery_voltage_then",
        "battery_metered",
    )
    assert soc_then > soc + 5
    assert volts_then > volts
    assert reading < -1000
    brought, sun, reading, missing = quantity(
        "reversed-battery-meter", 2, "converter_dc_metered", "solar_metered", "battery_metered", "missing_dc"
    )
    assert missing == pytest.approx(-2 * reading, rel=0.05)
    assert brought + sun == pytest.approx(-reading, rel=0.05)
    sun, load, reading, converter = quantity(
        "reversed-battery-meter",
        3,
        "solar_metered_then",
        "load_metered_then",
        "battery_metered_then",
        "converter_dc_metered_then",
    )
    assert sun > load
    assert reading < -500
    assert sun + converter == pytest.approx(-reading, rel=0.05)


def test_the_right_answer_stands_in_no_usual_place_and_is_not_the_longest_one():
    places, longest = [], 0
    for name in LESSONS:
        asked = [note.question for note in opened(name)[1].notes if note.question and note.question.choices]
        here = [question.right[0] for question in asked]
        assert 0 in here
        assert len(set(here)) == len(here)
        places += here
        longest += sum(len(each.choices[each.right[0]]) == max(map(len, each.choices)) for each in asked)
    assert set(places) == {0, 1, 2}
    assert longest < len(places) / 2


@pytest.mark.parametrize("name", LESSONS)
def test_nobody_finds_anything_wrong_with_them(name):
    found, notes = opened(name)
    sheet = tomllib.loads(notes_beside(LESSONS[name]).read_text(encoding="utf-8"))
    assert faults_of(sheet, sheet["note"], found) == []
    assert first_fault(notes.notes, found) is None
