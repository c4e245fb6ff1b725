"""Notes on what was opened together: each file's own, beside it or in the pack that it is."""

from datetime import UTC, datetime

import pytest

from desktop.pack.contents import gathered
from desktop.pack.writing import write_pack
from desktop.teaching.belonging import notes_in, places_of
from desktop.teaching.draft import NotesDraft
from recordings.errors import ReadError

S = 1_000_000_000
FIRST = int(datetime(2025, 3, 1, 9, tzinfo=UTC).timestamp()) * S
LAST = FIRST + 6 * 3600 * S


def at(hour):
    return FIRST + (hour - 9) * 3600 * S


def notes(hour, text="Here.", title=""):
    head = f'title = "{title}"\n\n' if title else ""
    return f'{head}[[note]]\nat = 2025-03-01T{hour:02d}:00:00Z\ntext = "{text}"\n'


@pytest.fixture
def recorded(tmp_path):
    """Makes a recording, with notes beside it where there are any."""

    def make(name, text=""):
        path = tmp_path / f"{name}.csv"
        path.write_text(f"time,generator_power [W]\n2025-03-01T09:00:00Z,1\n{name}")
        if text:
            path.with_name(f"{name}.notes.toml").write_text(text)
        return path

    return make


def found(*paths):
    together, faults = notes_in(places_of(paths), FIRST, LAST, UTC)
    assert faults == ()
    return together


def packed(tmp_path, *files, name="f.zip"):
    write_pack(tmp_path / name, gathered(files, None))
    return tmp_path / name


def test_the_notes_in_a_pack_are_those_of_its_recording(tmp_path, recorded):
    path = packed(tmp_path, recorded("day", notes(10, title="What to see")))
    assert found(path).title == "What to see"
    assert [note.at for note in found(path).notes] == [at(10)]
    (place,) = places_of([path])
    assert (place.recording, place.path) == ("day.csv", tmp_path / "f.notes.toml")


def test_notes_beside_a_pack_take_the_place_of_those_in_it(tmp_path, recorded):
    path = packed(tmp_path, recorded("day", notes(10, "Theirs.")))
    (place,) = places_of([path])
    draft = NotesDraft.load(place.path, place.packed)
    assert not draft.changed
    draft.put(0, draft.tables[0] | {"text": "Mine."})
    before = path.read_bytes()
    draft.save()
    assert [note.text for note in found(path).notes] == ["Mine."]
    assert path.read_bytes() == before


def test_each_file_has_its_own_and_the_earliest_come_first(tmp_path, recorded):
    late, early = recorded("late", notes(13, "B", "Second")), recorded("early", notes(11, "A", "First"))
    together = found(late, recorded("silent"), early)
    assert [(note.at, note.text) for note in together.notes] == [(at(11), "A"), (at(13), "B")]
    assert together.title == "First · Second"
    assert [place.recording for place in places_of([late, early])] == ["late.csv", "early.csv"]


def test_the_order_within_a_lesson_stays_as_it_is_written(recorded):
    lesson = recorded("lesson", notes(14, "first told") + notes(10, "then told"))
    assert [note.text for note in found(lesson, recorded("other", notes(12, "later"))).notes] == [
        "first told",
        "then told",
        "later",
    ]


def test_a_pack_of_several_keeps_its_notes_to_itself(tmp_path, recorded):
    path = packed(tmp_path, recorded("a", notes(10, "A")), recorded("b", notes(12, "B")))
    assert [note.text for note in found(path).notes] == ["A", "B"]
    assert [place.path for place in places_of([path])] == [None, None]


def test_a_pack_and_a_file_opened_together_have_both(tmp_path, recorded):
    path = packed(tmp_path, recorded("a", notes(10, "A")))
    assert [note.text for note in found(path, recorded("b", notes(12, "B"))).notes] == ["A", "B"]


def test_what_is_wrong_in_one_file_keeps_nobody_from_the_others(tmp_path, recorded):
    outside = recorded("outside", notes(20))
    together, faults = notes_in(
        places_of([outside, recorded("broken", "note = 3"), recorded("good", notes(10))]), FIRST, LAST, UTC
    )
    assert [note.at for note in together.notes] == [at(10)]
    assert [("outside the recording" in str(each), "broken" in str(each)) for each in faults] == [
        (True, False),
        (False, True),
    ]


def test_notes_in_a_pack_that_are_wrong_are_named_by_the_pack(tmp_path, recorded):
    path = packed(tmp_path, recorded("day", notes(20)))
    (fault,) = notes_in(places_of([path]), FIRST, LAST, UTC)[1]
    assert "f.zip" in str(fault)
    path.write_bytes(b"no zip")
    with pytest.raises(ReadError, match="no zip file"):
        places_of([path])


def test_a_table_and_its_archive_share_their_notes(tmp_path, recorded):
    csv = recorded("day", notes(10))
    assert len(found(csv, csv.with_suffix(".parquet")).notes) == 1
