"""Text from a recording or a sheet, made fit for a page: one line, bounded, no path, no formula."""

from __future__ import annotations

from pathlib import PureWindowsPath

from recordings.errors import printable

LONGEST = 80
"""No name is shown longer than this."""

_FORMULA = "=+-@|"
"""What begins so is taken for a formula by programs that tables are pasted into."""


def plain(text: str, most: int = LONGEST) -> str:
    """The text on one line, at most `most` characters long; in quotes where it looks like a formula."""
    line = printable(text)
    if len(line) > most:
        line = line[: most - 1].rstrip() + "…"
    return f'"{line}"' if line[:1] in _FORMULA and line else line


def file_name(name: str) -> str:
    """The name of a file without its folders; empty for the address of a device."""
    if "://" in name:
        return ""
    # This also parts the names of other systems.
    return plain(PureWindowsPath(name.strip()).name)
