"""`headrace desktop-entry`: puts the program into the desktop's menu, or takes it out again."""

from __future__ import annotations

import argparse
import sys

from desktop.entry.menu import data_home, own_command, put, remove


def run(options: argparse.Namespace) -> int:
    """Write or remove entry and icon, and name the files."""
    place = data_home()
    done, word = (remove(place), "removed") if options.remove else (put(place, own_command()), "written")
    for path in done:
        print(f"{word}: {path}")
    if not done:
        print("nothing was there to remove")
    sys.stdout.flush()
    return 0
