"""`headrace simulate`: a recording of an invented plant, with its site sheet beside it."""

from __future__ import annotations

import argparse
from pathlib import Path

from desktop.console import Progress
from recordings.errors import UsageError


def run(options: argparse.Namespace) -> int:
    """List the scenarios, or run one and write its recording."""
    import drivers.plant.export as export

    if options.list:
        for name, title in export.scenario_titles().items():
            print(f"{name:<28} {title}")
        return 0
    if not options.scenario:
        raise UsageError("no scenario given", mend="name one of headrace simulate --list, or a TOML file")
    if not options.csv:
        raise UsageError("nowhere to write to", mend="add --csv FILE")
    with Progress("simulating") as progress:
        export.run(options.scenario, Path(options.csv), options.seed, progress)
    print(f"{options.csv} and its site sheet {Path(options.csv).with_suffix('.toml')} written.")
    return 0
