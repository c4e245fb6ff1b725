"""Names of files in a pack: which are harmless on every system, and how one is made harmless."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection
from pathlib import Path

SUFFIX = ".zip"

LIST = "headrace-pack.toml"
SHEET = "site.toml"
REPORT = "report.html"
FOLDER = "recordings/"

_LONGEST = 100
_LONGEST_SUFFIX = 12
_LONGEST_PATH = 240
_UNSAFE = re.compile(r'[<>:"|?*/\\]')
_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\.|$)", re.IGNORECASE)
"""What some systems take for a device, whatever follows the first dot."""


def is_pack(path: str | Path) -> bool:
    """True where a file's name says that it is a pack."""
    return Path(path).suffix.lower() == SUFFIX


def fault_in(name: str) -> str:
    """Why a path in a pack can't be taken, as the end of `a file's path …`; empty where it can."""
    if not name or len(name) > _LONGEST_PATH:
        return "is empty or too long"
    if "\\" in name:
        return "has a backslash"
    if name.startswith("/"):
        return "is absolute"
    if re.match("[A-Za-z]:", name):
        return "names a drive"
    parts = name.split("/")
    if ".." in parts:
        return "leads out of the pack"
    if any(part in ("", ".") or part != part.strip() or part.endswith(".") for part in parts):
        return "has an empty part"
    if not name.isprintable() or any(_UNSAFE.search(part) for part in parts):
        return "has a character that not every system takes"
    if any(_DEVICES.match(part) for part in parts):
        return "names a device"
    return ""


def key_of(name: str) -> str:
    """The same for names that some system takes for the same."""
    return unicodedata.normalize("NFC", name).casefold()


def harmless(name: str, taken: Collection[str]) -> str:
    """A file's own name without folders, made fit for a pack.

    taken  names without suffix that are used already
    """
    path = Path("".join(c if c.isprintable() and not _UNSAFE.match(c) else "_" for c in name))
    suffix = path.suffix.rstrip(". ")[:_LONGEST_SUFFIX]
    stem = path.stem.strip(". ")[:_LONGEST].strip(". ") or "recording"
    if _DEVICES.match(stem):
        stem = f"_{stem}"
    used = {key_of(each) for each in taken}
    found, number = stem, 2
    while key_of(found) in used:
        found, number = f"{stem}-{number}", number + 1
    return found + suffix
