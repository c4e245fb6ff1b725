"""The notes that belong to a recording lie beside it."""

from __future__ import annotations

from pathlib import Path

NOTES = ".notes.toml"

_KINDS = (".csv", ".zip", ".parquet", ".txt", ".tsv", ".log")
"""What a recording's name may end in, the usual one first."""


def notes_file(recording: str | Path) -> Path:
    """Where the notes on a recording are kept: NAME.notes.toml beside it."""
    path = Path(recording)
    return path.with_name(f"{path.stem}{NOTES}")


def notes_beside(recording: str | Path) -> Path | None:
    """The file of notes that lies beside a recording; None where there is none."""
    if not Path(recording).name:
        return None
    path = notes_file(recording)
    try:
        return path if path.is_file() else None
    except OSError:
        return None


def is_notes_file(path: str | Path) -> bool:
    """True for the name of a file of notes."""
    return Path(path).name.lower().endswith(NOTES)


def recording_of(notes: str | Path) -> Path:
    """The recording that a file of notes lies beside; the table of that name where there is none."""
    path = Path(notes)
    stem = path.name[: -len(NOTES)]
    every = [path.with_name(stem + kind) for kind in _KINDS]
    return next((each for each in every if each.is_file()), every[0])
