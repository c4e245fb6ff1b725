"""`headrace compare`: what changed from one recording, or charge session, to another."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from desktop import languages
from desktop.commands.review import reviewed
from recordings.errors import UsageError
from recordings.files import write_whole

if TYPE_CHECKING:
    from desktop.comparison.comparison import Comparison


def run(options: argparse.Namespace) -> int:
    """Compare, and write what was asked for; text goes to standard output."""
    languages.use(options.language)
    found = compared(options)
    if options.json:
        from desktop.comparison.as_json import comparison_json

        content = json.dumps(comparison_json(found), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
        if options.json == "-":
            sys.stdout.buffer.write(content.encode())
        else:
            write_whole(options.json, content.encode())
    if options.json != "-":
        from desktop.comparison.as_text import comparison_text

        print(comparison_text(found))
    sys.stdout.flush()
    return 0


def compared(options: argparse.Namespace) -> Comparison:
    """Review both sides, one and the same file once only, and compare them."""
    from desktop.comparison.comparison import compare

    numbers: list[int | None] = [_number(text) for text in options.sessions or ()] or [None, None]
    if options.second is None and not options.sessions:
        raise UsageError(
            "only one recording to compare",
            mend="name another one, or two of its sessions with --sessions N M",
        )
    first = reviewed([options.first], options.site, options.day_first)
    second = first
    if options.second is not None and Path(options.second).resolve() != Path(options.first).resolve():
        second = reviewed([options.second], options.site, options.day_first)
    return compare(first, second, *numbers)


def _number(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not int(text):
        raise UsageError("--sessions can't be used", expected="two numbers from 1 on", found=text)
    return int(text)
