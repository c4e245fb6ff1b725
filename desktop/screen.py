"""Whether a window can be shown here. Asking Qt itself would end the process where it can't."""

from __future__ import annotations

import ctypes.util
import os
import socket
import sys
from collections.abc import Mapping

_INVISIBLE = {"offscreen", "minimal", "vnc", "linuxfb"}


def missing_screen(environment: Mapping[str, str] = os.environ, platform: str = sys.platform) -> str:
    """Why no window can be shown, in a clause; "" where one can."""
    plugin = environment.get("QT_QPA_PLATFORM", "").split(":")[0]
    if plugin in _INVISIBLE:
        return f"QT_QPA_PLATFORM is {plugin}"
    if not platform.startswith("linux"):
        return ""
    if environment.get("WAYLAND_DISPLAY") and plugin in ("", "wayland"):
        return ""
    display = environment.get("DISPLAY", "")
    if not display:
        return "neither DISPLAY nor WAYLAND_DISPLAY is set"
    if not _answers(display):
        return f"no X server answers at {display}"
    if ctypes.util.find_library("xcb-cursor") is None:
        return "the library libxcb-cursor0, which Qt needs under X, is not installed"
    return ""


def _answers(display: str) -> bool:
    host, _, number = display.rpartition(":")
    try:
        screen = int(number.split(".")[0])
    except ValueError:
        return False
    for address in _addresses(host, screen):
        family = socket.AF_UNIX if isinstance(address, str) else socket.AF_INET
        with socket.socket(family, socket.SOCK_STREAM) as probe:
            probe.settimeout(1.0)
            try:
                probe.connect(address)
            except OSError:
                continue
            return True
    return False


def _addresses(host: str, screen: int) -> list[str | tuple[str, int]]:
    if host in ("", "unix"):
        # The second is Linux's abstract socket, which needs no file.
        return [f"/tmp/.X11-unix/X{screen}", f"\0/tmp/.X11-unix/X{screen}"]
    return [(host, 6000 + screen)]
