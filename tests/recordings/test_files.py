"""A file is written whole or not at all."""

import pytest

from recordings.errors import WriteError
from recordings.files import write_whole


def test_what_was_there_is_replaced_in_one_step(tmp_path):
    (tmp_path / "a").write_bytes(b"old")
    write_whole(tmp_path / "a", b"new")
    assert [path.name for path in tmp_path.iterdir()] == ["a"]
    assert (tmp_path / "a").read_bytes() == b"new"


def test_a_place_that_does_not_exist_is_told_in_one_line(tmp_path):
    with pytest.raises(WriteError, match="can't be written"):
        write_whole(tmp_path / "none" / "a", b"x")


def test_a_folder_is_not_overwritten(tmp_path):
    (tmp_path / "d").mkdir()
    with pytest.raises(WriteError):
        write_whole(tmp_path / "d", b"x")
    assert [path.name for path in tmp_path.iterdir()] == ["d"]
