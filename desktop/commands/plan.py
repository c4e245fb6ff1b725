"""`headrace plan`: how many hours a day the generator must run, and how long the fuel lasts."""

from __future__ import annotations

import argparse
import json
import math
import re
import sys
from typing import TYPE_CHECKING

from desktop import languages
from desktop.console import Progress
from recordings.errors import UsageError
from recordings.files import write_whole

if TYPE_CHECKING:
    from desktop.charging.outlook.evidence import Evidence
    from desktop.charging.outlook.planning import Plan, Wishes
    from desktop.charging.outlook.rule import Hours
    from desktop.site import Appliance, Site

MOST_DAYS = 366
MOST_RUNS = 5000


def run(options: argparse.Namespace) -> int:
    """Work the plan out; text goes to standard output, JSON where it was asked for."""
    languages.use(options.language)
    wishes = _wishes(options)
    found = planned(options, wishes)
    if options.json:
        content = json.dumps(found.as_json(), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
        if options.json == "-":
            sys.stdout.buffer.write(content.encode())
        else:
            write_whole(options.json, content.encode())
    if options.json != "-":
        print(found.as_text())
    sys.stdout.flush()
    return 0


def planned(options: argparse.Namespace, wishes: Wishes) -> Plan:
    """Read what was named, and work it out, with a progress bar on a terminal."""
    from desktop.charging.outlook.planning import plan

    site, evidence = _known(options)
    with Progress("planning ") as progress:
        return plan(site, evidence, wishes, progress)


def _known(options: argparse.Namespace) -> tuple[Site, Evidence | None]:
    if not options.recordings:
        from desktop.site import Site

        if options.site is None:
            raise UsageError(
                "nothing to plan from",
                mend="name a recording, or a site sheet with --site and its appliances",
            )
        return Site.load(options.site), None
    from desktop.charging.outlook.evidence import gather
    from desktop.opening import open_recording

    with Progress("reading  ") as progress:
        recording, site = open_recording(
            options.recordings, options.site, day_first=options.day_first, progress=progress
        )
    with Progress("reviewing") as progress:
        return site, gather(recording, site, progress)


def _wishes(options: argparse.Namespace) -> Wishes:
    from desktop.charging.outlook.planning import Wishes

    return Wishes(
        overcast=number(options.overcast, "--overcast", 0, 3),
        fuel=_maybe(options.fuel, "--fuel", 0.01, 1e6),
        soc=_maybe(options.soc, "--soc", 0, 100),
        days=int(number(options.days, "--days", 1, MOST_DAYS, whole=True)),
        runs_of_chance=int(number(options.runs, "--runs", 10, MOST_RUNS, whole=True)),
        seed=int(number(options.seed, "--seed", 0, 1e12, whole=True)),
        quiet=None if options.quiet_hours is None else hours(options.quiet_hours, "--quiet-hours"),
        starts=tuple(number(each, "--start", 0, 99) for each in options.start or ()),
        stops=tuple(number(each, "--stop", 1, 100) for each in options.stop or ()),
        limits=tuple(number(each, "--limit", 0.1, 1e4) for each in options.limit or ()),
        runs=tuple(hours(each, "--run-hours") for each in options.run_hours or ()),
        appliances=None if options.appliances is None else _appliances(options.appliances),
        sun_hours=_maybe(options.sun_hours, "--sun-hours", 0, 24),
        most_starts=number(options.most_starts, "--most-starts", 0.1, 48),
    )


def _appliances(path: str) -> tuple[Appliance, ...]:
    """The `[[appliance]]` tables of a file, which may be a whole site sheet."""
    from desktop.site import Site

    found = Site.load(path).appliance
    if not found:
        raise UsageError(
            "no appliances", where=path, mend="add an [[appliance]] with name and watts for each"
        )
    return tuple(found)


def _maybe(text: str | None, option: str, least: float, most: float) -> float | None:
    return None if text is None else number(text, option, least, most)


def number(text: str, option: str, least: float, most: float, *, whole: bool = False) -> float:
    """A number from `least` to `most`; UsageError, which names the option, otherwise."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not least <= value <= most or (whole and value != int(value)):
        kind = "a whole number" if whole else "a number"
        raise UsageError(
            f"{option} can't be used", expected=f"{kind} from {least:g} to {most:g}", found=str(text)
        )
    return value


def hours(text: str, option: str) -> Hours:
    """`22-7` or `22:30-7:00`; UsageError, which names the option, otherwise."""
    from desktop.charging.outlook.rule import Hours

    match = re.fullmatch(r"(\d{1,2})(?::(\d{2}))?\s*[-–]\s*(\d{1,2})(?::(\d{2}))?", text.strip())
    if match is not None:
        begin, end = (int(match[i]) + int(match[i + 1] or 0) / 60 for i in (1, 3))
        minutes = max(int(match[2] or 0), int(match[4] or 0))
        if begin < 24 and end <= 24 and minutes < 60 and begin != end % 24:
            return Hours(begin, end)
    raise UsageError(
        f"{option} can't be used", expected="two hours of the day, such as 22-7 or 22:30-7", found=text
    )
