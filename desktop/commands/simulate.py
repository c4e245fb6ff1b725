"""`headrace simulate`: an invented plant as a recording with its site sheet, or live on the wire."""

from __future__ import annotations

import argparse
from pathlib import Path

from desktop.console import Progress
from recordings.errors import UsageError


def run(options: argparse.Namespace) -> int:
    """List the scenarios, or run one: write its recording, or let its devices answer until told to stop."""
    import drivers.plant.export as export

    if options.list:
        for name, title in export.scenario_titles().items():
            print(f"{name:<28} {title}")
        return 0
    if not options.scenario:
        raise UsageError("no scenario given", mend="name one of headrace simulate --list, or a TOML file")
    if options.modbus or options.serial:
        from desktop.commands.simulate_live import run_live

        return run_live(options)
    _refuse_live_options(options)
    if not options.csv:
        raise UsageError("nowhere to go to", mend="add --csv FILE, --modbus HOST:PORT or --serial pty")
    with Progress("simulating") as progress:
        export.run(options.scenario, Path(options.csv), options.seed, progress)
    print(f"{options.csv} and its site sheet {Path(options.csv).with_suffix('.toml')} written.")
    return 0


def _refuse_live_options(options: argparse.Namespace) -> None:
    for name in ("map", "sheet", "fault", "lines", "speed"):
        if getattr(options, name) is not None:
            raise UsageError(
                f"--{name} is for a plant on the wire", mend="add --modbus HOST:PORT or --serial pty"
            )
