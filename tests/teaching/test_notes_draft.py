"""Changing notes: what isn't touched stays as it was written, and what is written reads as it was meant."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desktop.opening import demos
from desktop.pack.beside import notes_beside, notes_file
from desktop.teaching.copying import save_copy
from desktop.teaching.draft import NotesDraft
from desktop.teaching.notes import NotesSheet
from recordings.errors import SheetError, WriteError

TEXT = """\
# My lesson.
title = "What tripped it"  # short

# The first one.
[[note]]
at = 2025-01-22T17:12:00   # local
text = "One."

[[note]]
text = 'Two.'
at = 2025-01-22T21:24:00Z
[note.question]
ask = "What?"              # thinks
choices = [
    "A",
    "B",
]
right = 2

[[note]]
at = 2025-01-22T21:30:00Z
text = "Three."
"""


def texts(draft):
    return [table["text"] for table in draft.tables]


def test_what_is_not_changed_is_not_written(tmp_path):
    path = tmp_path / "x.notes.toml"
    path.write_text(TEXT)
    stamp = path.stat().st_mtime_ns
    draft = NotesDraft.load(path)
    assert not draft.changed
    draft.save()
    assert path.stat().st_mtime_ns == stamp
    assert path.read_text() == TEXT


def test_a_change_leaves_the_rest_as_it_is_written(tmp_path):
    path = tmp_path / "x.notes.toml"
    path.write_text(TEXT)
    draft = NotesDraft.load(path)
    draft.put(2, draft.tables[2] | {"text": "Third."})
    draft.put(1, draft.tables[1] | {"question": draft.tables[1]["question"] | {"right": 1}})
    draft.save()
    assert path.read_text() == TEXT.replace("Three.", "Third.").replace("right = 2", "right = 1")


def test_order_is_changed_and_comments_go_along(tmp_path):
    path = tmp_path / "x.notes.toml"
    path.write_text(TEXT)
    draft = NotesDraft.load(path)
    draft.move(2, 0)
    draft.save()
    written = path.read_text()
    assert [note.text for note in NotesSheet.load(path).note] == ["Three.", "One.", "Two."]
    for comment in ("# My lesson.", "# short", "# local", "# thinks"):
        assert comment in written


def test_new_notes_and_none(tmp_path):
    path = tmp_path / "x.notes.toml"
    draft = NotesDraft.load(path)
    assert draft.tables == []
    stamp = tomllib.loads("at = 2025-01-22T17:12:00-04:00")["at"]
    draft.set_head("title", "Mine")
    draft.insert(0, {"at": stamp, "text": 'Says "no" \\ {load}', "question": {"ask": "?", "parts": ["ac"]}})
    draft.save()
    (note,) = NotesSheet.load(path).note
    assert (note.at, note.text, note.question.parts) == (stamp, 'Says "no" \\ {load}', ["ac"])
    draft.remove(0)
    draft.set_head("title", "")
    draft.save()
    assert NotesSheet.load(path) == NotesSheet()


def test_notes_in_one_line_can_be_changed_too(tmp_path):
    path = tmp_path / "x.notes.toml"
    path.write_text('note = [{ at = 2025-01-22T17:12:00, text = "One." }]\n')
    draft = NotesDraft.load(path)
    draft.put(0, draft.tables[0] | {"text": "Other."})
    draft.save()
    assert [note.text for note in NotesSheet.load(path).note] == ["Other."]


def test_what_is_wrong_is_not_written(tmp_path):
    path = tmp_path / "x.notes.toml"
    path.write_text(TEXT)
    draft = NotesDraft.load(path)
    draft.put(0, {"text": "No time."})
    with pytest.raises(SheetError, match=r"at of note 1 is missing"):
        draft.save()
    assert path.read_text() == TEXT
    with pytest.raises(SheetError, match="no file yet"):
        NotesDraft().save()


def test_what_somebody_else_has_changed_is_not_written_over(tmp_path):
    path = tmp_path / "x.notes.toml"
    path.write_text(TEXT)
    draft = NotesDraft.load(path)
    draft.remove(0)
    path.write_text(TEXT + "\n")
    with pytest.raises(SheetError, match="changed by something else"):
        draft.save()


def test_line_breaks_of_other_systems_stay(tmp_path):
    path = tmp_path / "x.notes.toml"
    path.write_bytes(TEXT.replace("\n", "\r\n").encode())
    draft = NotesDraft.load(path)
    draft.put(0, draft.tables[0] | {"text": "1."})
    draft.save()
    assert path.read_bytes() == TEXT.replace("One.", "1.").replace("\n", "\r\n").encode()


WORDS = st.text(st.characters(exclude_categories=("C", "Zl", "Zp")), min_size=1, max_size=40).filter(
    str.strip
)
TABLES = st.fixed_dictionaries(
    {
        "at": st.datetimes().map(lambda stamp: stamp.replace(microsecond=0)),
        "text": WORDS,
    },
    optional={
        "author": WORDS,
        "look_at": st.lists(st.sampled_from(["battery", "ac"]), min_size=1, max_size=2),
        "question": st.one_of(
            st.fixed_dictionaries({"ask": WORDS, "parts": st.just(["battery"])}, optional={"explain": WORDS}),
            st.fixed_dictionaries(
                {"ask": WORDS, "choices": st.lists(WORDS, min_size=2, max_size=3), "right": st.just(1)}
            ),
        ),
    },
)


@given(st.data())
def test_any_edits_in_any_order_read_back_as_they_were_made(data):
    draft = NotesDraft(TEXT)
    for _ in range(data.draw(st.integers(1, 6))):
        count = len(draft.tables)
        deed = data.draw(st.sampled_from(["put", "insert", "remove", "move"] if count else ["insert"]))
        if deed == "insert":
            draft.insert(data.draw(st.integers(0, count)), data.draw(TABLES))
            continue
        index = data.draw(st.integers(0, count - 1))
        if deed == "put":
            draft.put(index, data.draw(TABLES))
        elif deed == "remove":
            draft.remove(index)
        else:
            draft.move(index, data.draw(st.integers(0, count - 1)))
    read = tomllib.loads(draft.text)
    assert read.get("note", []) == draft.tables
    again = NotesDraft(draft.text)
    assert again.tables == draft.tables
    assert not again.changed


def test_a_copy_of_a_demo_takes_everything_along(tmp_path):
    (demo,) = (each for each in demos() if each.path.stem == "limit-too-high")
    draft = NotesDraft.load(notes_beside(demo.path))
    draft.set_head("title", "My overload")
    before = notes_beside(demo.path).read_bytes()
    target = tmp_path / "mine.csv"
    save_copy(draft, demo.path, target)
    assert target.read_bytes() == demo.path.read_bytes()
    assert target.with_suffix(".toml").read_bytes() == demo.path.with_suffix(".toml").read_bytes()
    assert NotesSheet.load(notes_file(target)).title == "My overload"
    assert notes_beside(demo.path).read_bytes() == before


def test_a_copy_writes_over_nothing(tmp_path):
    (demo,) = (each for each in demos() if each.path.stem == "limit-too-high")
    draft = NotesDraft.load(notes_beside(demo.path))
    target = tmp_path / "mine.csv"
    notes_file(target).write_text("title = 'old'")
    with pytest.raises(WriteError, match="is there already"):
        save_copy(draft, demo.path, target)
    with pytest.raises(WriteError, match="the recording itself"):
        save_copy(draft, demo.path, demo.path)
    assert not target.exists()
