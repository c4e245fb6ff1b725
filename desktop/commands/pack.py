"""`headrace pack`: recordings with their sheet, notes and report in one file, to be opened like a recording."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path

from desktop import languages
from desktop.commands.review import reviewed
from desktop.console import Progress
from desktop.packing import check_target, contents_of


def run(options: argparse.Namespace) -> int:
    """Pack what was named, and say what went in."""
    languages.use(options.language)
    target = Path(options.to)
    files = [Path(path) for path in options.recordings]
    check_target(target, files)
    listed = packed(target, files, options)
    print(f"{target.name}: {', '.join(Path(name).name for name in listed)}")
    sys.stdout.flush()
    return 0


def packed(target: Path, files: list[Path], options: argparse.Namespace) -> list[str]:
    """Write the pack. The paths in it.

    HeadraceError where a recording can't be read: nobody shall carry away what can't be opened.
    """
    from desktop.opening import open_recording
    from desktop.pack.writing import write_pack

    report = ""
    if options.report:
        from desktop.report.html import report_html

        report = report_html(reviewed(files, options.site, options.day_first))
    else:
        with Progress("reading  ") as progress:
            open_recording(files, options.site, day_first=options.day_first, progress=progress)
    site = Path(options.site) if options.site is not None else None
    contents = contents_of(files, site, options.day_first)
    return write_pack(target, replace(contents, report=report)).paths()[1:]
