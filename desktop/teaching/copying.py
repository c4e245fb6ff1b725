"""A copy of a recording that came along, with notes of one's own beside it."""

from __future__ import annotations

from pathlib import Path

from desktop.opening import sheet_beside
from desktop.pack.beside import notes_file
from desktop.teaching.draft import NotesDraft
from recordings.errors import ReadError, WriteError
from recordings.files import write_whole


def save_copy(draft: NotesDraft, recording: Path, target: Path) -> None:
    """Write a recording to another file, its site sheet and these notes beside it.

    WriteError where there is no room, or where a sheet or notes of that name are there already; SheetError where
    the notes are wrong. Then nothing is written.
    """
    if target.resolve() == recording.resolve():
        raise WriteError("is the recording itself", where=target, mend="choose another place")
    sheet = sheet_beside(recording)
    beside = [notes_file(target), *([target.with_suffix(".toml")] if sheet is not None else [])]
    for path in beside:
        if path.exists():
            raise WriteError("is there already", where=path, mend="choose another file name")
    draft.check()
    try:
        content = recording.read_bytes()
        told = b"" if sheet is None else sheet.read_bytes()
    except OSError as error:
        raise ReadError(f"can't be read: {error.strerror}", where=recording) from error
    write_whole(target, content)
    if sheet is not None:
        write_whole(target.with_suffix(".toml"), told)
    draft.save(notes_file(target))
