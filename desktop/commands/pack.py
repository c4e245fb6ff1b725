"""`headrace pack`: recordings with their sheet, notes and report in one file, to be opened like a recording."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path

from desktop import languages
from desktop.commands.review import reviewed
from desktop.console import Progress
from recordings.errors import UsageError


def run(options: argparse.Namespace) -> int:
    """Pack what was named, and say what went in."""
    languages.use(options.language)
    target = Path(options.to)
    files = [Path(path) for path in options.recordings]
    _check(target, files)
    listed = packed(target, files, options)
    print(f"{target.name}: {', '.join(Path(name).name for name in listed)}")
    sys.stdout.flush()
    return 0


def packed(target: Path, files: list[Path], options: argparse.Namespace) -> list[str]:
    """Write the pack. The paths in it.

    HeadraceError where a recording can't be read: nobody shall carry away what can't be opened.
    """
    from desktop.opening import open_recording, sheet_beside
    from desktop.pack.contents import gathered
    from desktop.pack.writing import write_pack
    from desktop.teaching.notes import NotesSheet

    report = ""
    if options.report:
        from desktop.report.html import report_html

        report = report_html(reviewed(files, options.site, options.day_first))
    else:
        with Progress("reading  ") as progress:
            open_recording(files, options.site, day_first=options.day_first, progress=progress)
    found = (sheet for sheet in map(sheet_beside, files) if sheet is not None)
    sheet = Path(options.site) if options.site is not None else next(found, None)
    contents = gathered(files, sheet, report)
    for item in contents.items:
        if item.notes:
            NotesSheet.parse(item.notes, f"notes on {item.name}")
    if options.day_first is not None:
        contents = replace(contents, sheet=_with_dates(contents.sheet, options.day_first))
    return write_pack(target, contents).paths()[1:]


def _with_dates(sheet: str, day_first: bool) -> str:
    """The sheet with what was said about dates, for nobody will be there to say it again."""
    from desktop.sheet.editing import SheetDraft

    draft = SheetDraft(sheet)
    draft.set("site", "dates", "day first" if day_first else "month first")
    return draft.text


def _check(target: Path, files: list[Path]) -> None:
    from desktop.pack.names import SUFFIX, is_pack

    if not is_pack(target):
        raise UsageError(
            "--to can't be used", expected=f"a file name that ends in {SUFFIX}", found=target.name
        )
    if any(target.resolve() == file.resolve() for file in files):
        raise UsageError("a pack can't be packed into itself", where=target, mend="choose another name")
