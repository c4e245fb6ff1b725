"""`headrace review`: what a recording shows, as text for people, as a report, as JSON, as a picture."""

from __future__ import annotations

import argparse
import json
import re
import sys
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from desktop import languages
from desktop.console import Progress
from desktop.words import local
from recordings.errors import UsageError
from recordings.files import write_whole

if TYPE_CHECKING:
    from desktop.review import Review

_LARGEST = 8192
_SMALLEST = 320


def run(options: argparse.Namespace) -> int:
    """Review the recordings and write what was asked for; text goes to standard output."""
    languages.use(options.language)
    size = picture_size(options.size)
    found = reviewed(options.recordings, options.site, options.day_first)
    instant = picture_instant(options.at, found) if options.at else None
    if options.json:
        content = json.dumps(found.as_json(), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
        if options.json == "-":
            sys.stdout.buffer.write(content.encode())
            sys.stdout.flush()
        else:
            write_whole(options.json, content.encode())
    if options.png:
        write_picture(found, options.png, instant, size, options.theme)
    if options.html:
        write_page(found, options.html)
    if options.pdf:
        write_printed(found, options.pdf, options.paper)
    if options.json != "-":
        print(found.as_text())
        sys.stdout.flush()
    return 0


def reviewed(
    paths: Sequence[str | Path], site_path: str | None = None, day_first: bool | None = None
) -> Review:
    """Read and review recordings, with a progress bar on a terminal."""
    from desktop.opening import open_recording
    from desktop.review import review

    with Progress("reading  ") as progress:
        recording, site = open_recording(paths, site_path, day_first=day_first, progress=progress)
    with Progress("reviewing") as progress:
        return review(recording, site, progress=progress)


def write_picture(
    found: Review,
    path: str | Path,
    instant: int | None = None,
    size: tuple[int, int] = (1440, 900),
    theme: str = "light",
) -> None:
    """Write the window as it shows an instant (UTC nanoseconds; None for the most telling one) as PNG."""
    from desktop.window.shot import picture

    write_whole(path, picture(found, at=instant, size=size, theme=theme))


def write_page(found: Review, path: str | Path) -> None:
    """Write the report as one HTML file, in the language that is spoken now."""
    from desktop.report.html import write_html

    write_html(found, path)


def write_printed(found: Review, path: str | Path, paper: str = "A4") -> None:
    """Write the report as PDF on `A4` or `Letter` paper, in the language that is spoken now."""
    from desktop.report.pdf import write_pdf

    write_pdf(found, path, paper=paper)


def picture_size(text: str) -> tuple[int, int]:
    """`1440x900` as two numbers."""
    match = re.fullmatch(r"(\d{1,5})[x×](\d{1,5})", text.strip())
    size = (int(match[1]), int(match[2])) if match else (0, 0)
    if not all(_SMALLEST <= side <= _LARGEST for side in size):
        raise UsageError(
            "--size can't be used",
            expected=f"WxH, each {_SMALLEST} to {_LARGEST}, such as 1440x900",
            found=text,
        )
    return size


def picture_instant(text: str, found: Review) -> int:
    """A time of day or a date and time, as a UTC nanosecond stamp inside the recording.

    Without an offset the site's zone holds. A time of day means its first occurrence in the recording.
    """
    time = found.recording.time
    first, last = int(time[0]), int(time[-1])
    wanted = _instant(text, first, last, found.site.zone)
    if not first <= wanted <= last:
        begins, ends = local(first, found.site.zone), local(last, found.site.zone)
        raise UsageError(
            "--at lies outside the recording",
            expected=f"{begins:%Y-%m-%d %H:%M:%S} to {ends:%Y-%m-%d %H:%M:%S}",
            found=text,
        )
    return wanted


def _instant(text: str, first: int, last: int, zone: ZoneInfo) -> int:
    begins = local(first, zone)
    clock = re.fullmatch(r"(\d{1,2}):(\d{2})(?::(\d{2}))?", text.strip())
    try:
        if clock is None:
            moment = datetime.fromisoformat(text.strip())
            return _nanoseconds(moment if moment.tzinfo else moment.replace(tzinfo=zone))
        hour, minute, second = int(clock[1]), int(clock[2]), int(clock[3] or 0)
        wanted = begins.replace(hour=hour, minute=minute, second=second, microsecond=0, fold=0)
    except (ValueError, OverflowError) as error:
        raise UsageError(
            "--at can't be used", expected="14:03:20 or 2026-02-14T14:03:20", found=text
        ) from error
    if _nanoseconds(wanted) < first:
        # A time with seconds names the whole second that the first row may lie in.
        if first - _nanoseconds(wanted) < 1_000_000_000:
            return first
        wanted += timedelta(days=1)
    return _nanoseconds(wanted)


def _nanoseconds(moment: datetime) -> int:
    return int(moment.timestamp()) * 1_000_000_000 + moment.microsecond * 1000
