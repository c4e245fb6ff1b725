"""`headrace` and `headrace open`: the window; where no window can be shown, the same as text and picture."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from desktop.screen import missing_screen


def run(options: argparse.Namespace) -> int:
    """Open the window on the given recordings, or on the demo."""
    reason = missing_screen()
    if reason:
        return _without_screen(options, reason)
    from desktop.window.run import run_window

    status: int = run_window(
        [Path(path) for path in options.recordings],
        site_path=options.site,
        day_first=getattr(options, "day_first", None),
        theme=options.theme,
    )
    return status


def _without_screen(options: argparse.Namespace, reason: str) -> int:
    from desktop.commands.review import reviewed, write_picture
    from desktop.opening import default_demo

    paths = options.recordings or [default_demo()]
    found = reviewed(paths, options.site, getattr(options, "day_first", None))
    picture = Path.cwd() / f"headrace-{Path(paths[0]).stem}.png"
    print(f"No window can be shown here: {reason}. The review as text:\n")
    print(found.as_text())
    theme = options.theme if options.theme != "system" else "light"
    write_picture(found, picture, theme=theme)
    print(f"\nThe window as a picture: {picture.name}")
    sys.stdout.flush()
    return 0
