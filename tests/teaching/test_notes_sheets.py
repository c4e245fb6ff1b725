"""Files of notes, read strictly: what is wrong is said in one line, with file and key."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desktop.pack.beside import is_notes_file, notes_beside, notes_file, recording_of
from desktop.teaching.characters import refused_character
from desktop.teaching.lesson import instant_of, load_notes, settled, stamp_of
from desktop.teaching.notes import LARGEST_FILE, MOST_IN_TEXT, MOST_NOTES, PARTS, NotesSheet
from recordings.errors import SheetError

S = 1_000_000_000
HALIFAX = ZoneInfo("America/Halifax")
FIRST = int(datetime(2025, 1, 22, 21, 5, tzinfo=UTC).timestamp()) * S
LAST = FIRST + 45 * 60 * S

GOOD = """
title = "What tripped it"
author = "A. Person"

[[note]]
at = 2025-01-22T17:12:00
text = '''It carries   {generator}.
Look at the gate.'''
look_at = ["generator"]

[[note]]
at = 2025-01-22T21:24:00Z
until = 2025-01-22T17:24:18-04:00
text = "Now."
author = "B. Other"

[note.question]
ask = "What comes next?"
choices = ["It trips.", "Nothing."]
right = 1
explain = "It trips."

[[note]]
at = 2025-01-22T21:30:00Z
text = "And now?"
question = { ask = "Click what carries the house.", parts = ["battery", "dc"] }
"""


def note(extra="", at="2025-01-22T17:12:00", text='"Some text."'):
    return f"[[note]]\nat = {at}\ntext = {text}\n{extra}"


def test_what_is_right_is_read():
    notes = settled(NotesSheet.parse(GOOD), FIRST, LAST, HALIFAX)
    first, second, third = notes.notes
    assert (notes.title, notes.author, notes.ours, notes.asks) == (
        "What tripped it",
        "A. Person",
        False,
        True,
    )
    assert first.at == FIRST + 7 * 60 * S
    assert first.text == "It carries {generator}.\nLook at the gate."
    assert (first.author, second.author) == ("A. Person", "B. Other")
    assert second.until == second.at + 18 * S
    assert (second.question.choices, second.question.right) == (("It trips.", "Nothing."), (0,))
    assert (third.question.choices, third.question.right, third.end) == ((), ("battery", "dc"), third.at)


def test_an_empty_file_has_no_notes():
    assert settled(NotesSheet.parse(""), FIRST, LAST, HALIFAX).notes == ()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[[note]]\ntext = 'x'", "at of note 1 is missing"),
        ("[[note]]\nat = 2025-01-22T17:12:00", "text of note 1 is missing"),
        (note(at='"2025-01-22T17:12:00"'), "at of note 1; expected date and time without quotes"),
        (note(at="17:12:00"), "at of note 1; expected date and time"),
        (note(at="2025-01-22"), "at of note 1; expected date and time"),
        (note(at="1737580000"), "at of note 1; expected date and time"),
        (note(text='""'), "text of note 1; expected plain text of 1 to 2000 characters"),
        (note(text='"a\\u202eb"'), "without U+202E RIGHT-TO-LEFT OVERRIDE"),
        (note(text='"a\\u0000b"'), "without U+0000"),
        (note(text='"a\\u0004b"'), "without U+0004"),
        (note(text=f'"{"x" * (MOST_IN_TEXT + 1)}"'), "text of note 1; expected plain text of 1 to 2000"),
        (note(text="7"), "text of note 1; expected string, found 7"),
        (note("colour = 'red'"), "unknown key colour of note 1"),
        (note("autor = 'A'"), "The nearest known is author"),
        (note("look_at = ['generater']"), "the nearest known is generator"),
        (note("look_at = 'generator'"), "look_at of note 1"),
        (note("[note.question]\nask = 'Why?'"), "question.parts of note 1 is missing"),
        (note("[note.question]\nask = 'Why?'\nchoices = ['a', 'b']"), "question.right of note 1 is missing"),
        (note("[note.question]\nask = 'Why?'\nchoices = ['a', 'b']\nright = 3"), "1 to 2, found 3"),
        (note("[note.question]\nask = 'Why?'\nchoices = ['a', 'b']\nright = true"), "a whole number"),
        (note("[note.question]\nask = 'Why?'\nchoices = ['a', 'b']\nright = '1'"), "a whole number"),
        (note("[note.question]\nask = 'Why?'\nchoices = ['a']\nright = 1"), "2 to 6 of them, not 1"),
        (note("[note.question]\nask = 'Why?'\nchoices = 'ab'\nright = 1"), "question.choices of note 1"),
        (note("[note.question]\nask = 'Why?'\nright = 1\nparts = ['ac']"), "choices with it"),
        (
            note("[note.question]\nask = 'Why?'\nchoices = ['a', 'b']\nright = 1\nparts = ['ac']"),
            "either choices or parts to be clicked, not both",
        ),
        (note("[note.question]\nask = 'Why?'\nparts = ['limit']"), "a part of the diagram"),
        (
            note("[note.question]\nask = 'a\\nb'\nparts = ['ac']".replace("'a\\nb'", '"a\\u0007b"')),
            "one line",
        ),
        (note() * (MOST_NOTES + 1), f"0 to {MOST_NOTES} of them, not {MOST_NOTES + 1}"),
        ("note = 3", "note; expected list, found 3"),
        ("note = ['x']", "note 1"),
        ("[note]\nat = 1", "note; expected list"),
        ("titel = 'x'", "The nearest known is title"),
        ("title = 'x'\ntitle = 'y'", "is no valid TOML"),
        ("x = " + "[" * 5000, "is nested too deeply"),
    ],
)
def test_what_is_wrong_is_said_in_one_line_with_file_and_key(tmp_path, text, said):
    path = tmp_path / "x.notes.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SheetError) as caught:
        load_notes(path, FIRST, LAST, HALIFAX)
    line = str(caught.value)
    assert said in line
    assert line.startswith(str(path))
    assert "\n" not in line
    assert len(line) < 700


@pytest.mark.parametrize(
    ("at", "extra", "said"),
    [
        ("2025-01-22T17:04:59", "", "at of note 1 lies outside the recording"),
        ("2025-01-22T17:50:01", "", "a time from 2025-01-22 17:05:00-04:00 to 2025-01-22 17:50:00-04:00"),
        ("2025-01-22T17:12:00", "until = 2025-01-23T17:12:00", "until of note 1 lies outside the recording"),
        ("2025-01-22T17:12:00", "until = 2025-01-22T17:11:00", "until of note 1 is before its at"),
        ("0001-01-01T00:00:00+14:00", "", "at of note 1 lies outside the recording"),
        ("9999-12-31T23:59:59-12:00", "", "at of note 1 lies outside the recording"),
    ],
)
def test_notes_lie_in_the_recording(at, extra, said):
    with pytest.raises(SheetError, match=said):
        settled(NotesSheet.parse(note(extra, at)), FIRST, LAST, HALIFAX)


def test_what_is_too_large_is_not_read(tmp_path):
    path = tmp_path / "x.notes.toml"
    path.write_text(note() + "# " + "x" * LARGEST_FILE, encoding="utf-8")
    with pytest.raises(SheetError, match="too large for a file of notes"):
        NotesSheet.load(path)


def test_what_is_no_file_or_no_text_is_refused(tmp_path):
    with pytest.raises(SheetError, match="no ordinary file"):
        NotesSheet.load(tmp_path)
    (tmp_path / "x").write_bytes(b"\xff\xfe")
    with pytest.raises(SheetError, match="not UTF-8"):
        NotesSheet.load(tmp_path / "x")
    with pytest.raises(SheetError, match="can't read the file of notes"):
        NotesSheet.load(tmp_path / "missing")


def test_the_file_lies_beside_the_recording(tmp_path):
    recording = tmp_path / "week.csv"
    assert notes_file(recording).name == "week.notes.toml"
    assert notes_beside(recording) is None
    notes_file(recording).write_text("")
    assert notes_beside(recording) == notes_file(recording)
    assert recording_of(notes_file(recording)) == recording
    (tmp_path / "week.zip").write_bytes(b"")
    assert recording_of(notes_file(recording)) == tmp_path / "week.zip"
    assert is_notes_file("A.NOTES.TOML")
    assert not is_notes_file("notes.toml")


@given(st.integers(FIRST // 1000, LAST // 1000))
def test_an_instant_is_the_same_after_it_was_written_by_the_clock(microseconds):
    assert instant_of(stamp_of(microseconds * 1000, HALIFAX), HALIFAX) == microseconds * 1000


@pytest.mark.parametrize(
    "text",
    [
        "A family \N{MAN}\u200d\N{WOMAN}\u200d\N{GIRL} at the generator",
        "A heart \N{HEAVY BLACK HEART}\ufe0f and a key 1\ufe0f\u20e3",
        "A flag \N{WAVING BLACK FLAG}\U000e0067\U000e0062\U000e0065\U000e006e\U000e0067\U000e007f",
        "می\u200cخواهم",
    ],
)
def test_what_joins_emoji_and_letters_is_text(text):
    assert refused_character(text) == ""
    assert NotesSheet.parse(note(text=f'"{text}"')).note[0].text == text


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("a\u202eb", "U+202E RIGHT-TO-LEFT OVERRIDE"),
        ("a\u200bb", "U+200B ZERO WIDTH SPACE"),
        ("a\u2028b", "U+2028 LINE SEPARATOR"),
        ("a\x07b", "U+0007"),
        ("\ud800", "U+D800"),
    ],
)
def test_what_steers_how_text_is_shown_is_refused_by_its_name(text, name):
    assert refused_character(text) == name


def test_the_parts_are_named_once():
    assert len(PARTS) == len(set(PARTS))
