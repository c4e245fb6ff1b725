"""From recordings that were opened together to a pack of them: nothing is packed that wouldn't open again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from desktop.opening import sheet_beside
from recordings.errors import UsageError

if TYPE_CHECKING:
    from desktop.pack.contents import Contents


def contents_of(
    files: Sequence[Path], site_path: Path | None = None, day_first: bool | None = None
) -> Contents:
    """What belongs to recordings: they themselves, their sheet, and the notes of each.

    site_path  the sheet that holds for all; None for the first that lies beside one of them, or in a pack
    day_first  how dates such as 03/04/2026 were said to be meant: then the sheet says it from now on
    HeadraceError where something can't be read, or notes are wrong.
    """
    from desktop.pack.contents import gathered
    from desktop.teaching.notes import NotesSheet

    found = (sheet for sheet in map(sheet_beside, files) if sheet is not None)
    contents = gathered(files, site_path or next(found, None))
    for item in contents.items:
        if item.notes:
            NotesSheet.parse(item.notes, f"notes on {item.name}")
    if day_first is not None:
        contents = replace(contents, sheet=_with_dates(contents.sheet, day_first))
    return contents


def check_target(target: Path, files: Sequence[Path]) -> None:
    """UsageError where a pack of these files can't be written there."""
    from desktop.pack.names import SUFFIX, is_pack

    if not is_pack(target):
        raise UsageError(
            "the pack can't be called that", expected=f"a file name that ends in {SUFFIX}", found=target.name
        )
    if any(target.resolve() == file.resolve() for file in files):
        raise UsageError("a pack can't be packed into itself", where=target, mend="choose another name")


def _with_dates(sheet: str, day_first: bool) -> str:
    """The sheet with what was said about dates, for nobody will be there to say it again."""
    from desktop.sheet.editing import SheetDraft

    draft = SheetDraft(sheet)
    draft.set("site", "dates", "day first" if day_first else "month first")
    return draft.text
