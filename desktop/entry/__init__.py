"""What a desktop needs to know of the program: its icon, and its entry in the menu."""

from __future__ import annotations

from pathlib import Path

NAME = "headrace"
"""What the entry and the icon are called; a window says it too, so that the desktop knows whose it is."""

ICON = Path(__file__).with_name("headrace.svg")
