"""The entry in a desktop's menu, as the Desktop Entry and Icon Theme specifications of freedesktop.org have it."""

from __future__ import annotations

import os
import shutil
import sys
import sysconfig
from collections.abc import Sequence
from pathlib import Path

from desktop.entry import ICON, NAME
from recordings.errors import UsageError, WriteError
from recordings.files import write_whole

_RESERVED = '"`$\\'
"""What has to be escaped within quotes in an Exec line."""

_ENTRY = """\
[Desktop Entry]
Type=Application
Version=1.5
Name=Headrace
Comment=Shows how power is led from generator, sun and grid to house and battery
Comment[de]=Zeigt, wie Leistung von Generator, Sonne und Netz zu Haus und Batterie geführt wird
Exec={command} open %F
Icon={name}
Terminal=false
Categories=Utility;
Keywords=battery;generator;solar;power;
MimeType=text/csv;
StartupNotify=true
StartupWMClass={name}
"""


def files(data_home: Path) -> tuple[Path, Path]:
    """Where the entry and the icon go."""
    return (
        data_home / "applications" / f"{NAME}.desktop",
        data_home / "icons" / "hicolor" / "scalable" / "apps" / f"{NAME}.svg",
    )


def put(data_home: Path, command: Sequence[str]) -> tuple[Path, ...]:
    """Write entry and icon. HeadraceError where there is no room. The files that were written.

    command  what starts the program, as a list of words
    """
    entry, icon = files(data_home)
    content = _ENTRY.format(command=exec_line(command), name=NAME)
    for path, told in ((icon, ICON.read_bytes()), (entry, content.encode())):
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise WriteError(f"can't be made: {error.strerror}", where=path.parent) from error
        write_whole(path, told)
    return entry, icon


def remove(data_home: Path) -> tuple[Path, ...]:
    """Take both away again. The files that were there."""
    there = tuple(path for path in files(data_home) if path.is_file())
    for path in there:
        try:
            path.unlink()
        except OSError as error:
            raise WriteError(f"can't be removed: {error.strerror}", where=path) from error
    return there


def data_home() -> Path:
    """Where a user's data belongs (XDG Base Directory specification). UsageError where there are no such menus."""
    if not sys.platform.startswith(("linux", "freebsd")):
        raise UsageError(
            "menu entries of this kind belong to Linux desktops",
            mend="make a shortcut to the headrace command instead",
        )
    told = os.environ.get("XDG_DATA_HOME", "")
    return Path(told) if told and Path(told).is_absolute() else Path.home() / ".local" / "share"


def own_command() -> list[str]:
    """What starts this very installation, from anywhere."""
    if getattr(sys, "frozen", False):
        return [sys.executable]
    script = Path(sysconfig.get_path("scripts")) / NAME
    found = str(script) if script.is_file() else shutil.which(NAME)
    return [found] if found else [sys.executable, "-m", "desktop.app"]


def exec_line(command: Sequence[str]) -> str:
    """Words as they stand in an Exec line: quoted and escaped twice, once as arguments and once as a string."""
    return " ".join(_quoted(word) for word in command)


def _quoted(word: str) -> str:
    if not word.isprintable():
        raise UsageError("the program lies at a path that no menu entry can name", found=word)
    escaped = "".join(f"\\{each}" if each in _RESERVED else each for each in word.replace("%", "%%"))
    return '"' + escaped.replace("\\", "\\\\") + '"'
