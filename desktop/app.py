"""The command line: what can be asked of `headrace`, and where each question is answered.

Nothing heavy is imported before a command is known, so that `headrace --help` answers at once.
"""

from __future__ import annotations

import argparse
import sys
import warnings
from collections.abc import Sequence
from importlib import import_module
from typing import NoReturn

from desktop.languages import NAMES
from recordings.errors import HeadraceError, UsageError

CAUTION = (
    "Headrace reads and never writes to a device. It is no protective device: local codes, the makers' "
    "instructions and licensed practice come first."
)

_SITE_HELP = "site sheet (TOML); else the .toml of the same name beside the recording"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command. Returns the exit status: 0, or 2 after an error told in one line."""
    # A warning of a library is for its developers: what concerns the user is told by findings and refusals.
    warnings.simplefilter("ignore")
    options = _parser().parse_args(arguments)
    command = options.command or "open"
    try:
        module = import_module(f"desktop.commands.{command}")
        status: int = module.run(options)
    except HeadraceError as error:
        return _told(str(error))
    except BrokenPipeError:
        # The reader of our output has gone; that is no fault, and nobody is left to tell.
        sys.stderr.close()
        return 0
    except KeyboardInterrupt:
        return _told("stopped", status=130)
    except MemoryError:
        return _told("not enough memory for this recording. Review a shorter one.")
    return status


def _told(line: str, status: int = 2) -> int:
    print(f"headrace: {line}", file=sys.stderr)
    return status


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise SystemExit(_told(str(UsageError(message, mend=f"see {self.prog} --help"))))


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="headrace",
        description="Shows how power is led from generator, sun and grid to house and battery, and checks it.",
        epilog=CAUTION,
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="show the version and stop")
    parser.set_defaults(command=None, recordings=[], site=None, theme="system")
    commands = parser.add_subparsers(metavar="COMMAND", parser_class=_Parser)
    _add_open(commands)
    _add_review(commands)
    _add_simulate(commands)
    _add_watch(commands)
    _add_record(commands)
    _add_probe(commands)
    _add_plan(commands)
    _add_pack(commands)
    _add_compare(commands)
    _add_desktop_entry(commands)
    return parser


class _Version(argparse.Action):
    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from importlib.metadata import version

        print(f"headrace {version('headrace')}")
        parser.exit()


def _add_open(commands: argparse._SubParsersAction[_Parser]) -> None:
    parser = commands.add_parser("open", help="open the window on a recording", epilog=CAUTION)
    parser.set_defaults(command="open")
    _add_recording(parser, "*")
    parser.add_argument("--theme", choices=("system", "light", "dark"), default="system")


def _add_review(commands: argparse._SubParsersAction[_Parser]) -> None:
    parser = commands.add_parser(
        "review", help="say what a recording shows: as text, a report, JSON or a picture"
    )
    parser.set_defaults(command="review")
    _add_recording(parser, "+")
    parser.add_argument("--json", metavar="FILE", help="write the review as JSON; - for standard output")
    parser.add_argument("--html", metavar="FILE", help="write a report to hand over, as one HTML file")
    parser.add_argument("--pdf", metavar="FILE", help="write the same report as PDF")
    parser.add_argument("--paper", choices=("A4", "Letter"), default="A4", help="the PDF's paper")
    parser.add_argument("--png", metavar="FILE", help="write the window as a picture")
    parser.add_argument("--at", metavar="TIME", help="the picture's instant: 14:03:20 or 2026-02-14T14:03:20")
    parser.add_argument("--size", metavar="WxH", default="1440x900", help="the picture's size in pixels")
    parser.add_argument("--theme", choices=("light", "dark"), default="light", help="the picture's theme")
    parser.add_argument("--language", choices=tuple(NAMES), default="en", help="of all that is written")


def _add_simulate(commands: argparse._SubParsersAction[_Parser]) -> None:
    parser = commands.add_parser(
        "simulate", help="make a recording of an invented plant, or let it answer live"
    )
    parser.set_defaults(command="simulate")
    parser.add_argument("scenario", metavar="SCENARIO", nargs="?", help="a scenario's name or TOML file")
    goes_to = parser.add_mutually_exclusive_group()
    goes_to.add_argument(
        "--csv", metavar="FILE", help="the recording to write; its site sheet goes beside it"
    )
    goes_to.add_argument("--modbus", metavar="HOST:PORT", help="answer there as Modbus TCP devices")
    goes_to.add_argument("--serial", metavar="PORT", help="print lines on this port; pty makes one")
    parser.add_argument(
        "--map", metavar="FILE", help="write the map of the plain registers, or lines; - shows it"
    )
    parser.add_argument(
        "--sheet", metavar="FILE", help="write a site sheet that names the devices; - shows it"
    )
    parser.add_argument("--lines", choices=("delimited", "pairs", "json"), help="what is printed on the port")
    parser.add_argument("--speed", metavar="N", help="plant seconds per second")
    parser.add_argument(
        "--fault",
        action="append",
        metavar="KIND[=SECONDS/EVERY]",
        help="slow, drop, exception, freeze or garbage: throughout, or for SECONDS of EVERY so many",
    )
    parser.add_argument("--seed", type=int, metavar="N", help="another run of chance than the scenario's own")
    parser.add_argument("--list", action="store_true", help="list the scenarios that come along")


def _add_watch(commands: argparse._SubParsersAction[_Parser]) -> None:
    parser = commands.add_parser("watch", help="open the window on a live system", epilog=CAUTION)
    parser.set_defaults(command="watch")
    parser.add_argument(
        "source",
        metavar="SOURCE",
        help="a device's address, a site sheet that names devices, or a recording to play as if it were live",
    )
    parser.add_argument("--site", metavar="SHEET", help="another site sheet than the one of the SOURCE")
    parser.add_argument("--to", metavar="FILE|DIR", help="record into FILE.csv, or a folder of days")
    parser.add_argument("--for", dest="duration", metavar="DURATION", help="such as 90s, 5min, 1h30m, 2d")
    parser.add_argument("--interval", metavar="S", help="seconds between rows")
    parser.add_argument("--theme", choices=("system", "light", "dark"), default="system")


def _add_record(commands: argparse._SubParsersAction[_Parser]) -> None:
    parser = commands.add_parser("record", help="record a live source to disk", epilog=CAUTION)
    parser.set_defaults(command="record")
    parser.add_argument(
        "source", metavar="SOURCE", help="a device's address, or a site sheet that names devices"
    )
    parser.add_argument("--to", metavar="FILE|DIR", required=True, help="FILE.csv, or a folder of days")
    parser.add_argument("--for", dest="duration", metavar="DURATION", help="such as 90s, 5min, 1h30m, 2d")
    parser.add_argument("--interval", metavar="S", help="seconds between rows")
    parser.add_argument("--archive", action="store_true", help="turn the files of finished days into Parquet")


def _add_probe(commands: argparse._SubParsersAction[_Parser]) -> None:
    parser = commands.add_parser(
        "probe", help="find out what devices there are, reading only", epilog=CAUTION
    )
    parser.set_defaults(command="probe")
    parser.add_argument(
        "source",
        metavar="SOURCE",
        help="modbus-tcp://HOST, modbus-rtu:///dev/…, serial:///dev/… or a site sheet",
    )
    parser.add_argument("--json", action="store_true", help="print it as JSON")


def _add_plan(commands: argparse._SubParsersAction[_Parser]) -> None:
    parser = commands.add_parser(
        "plan", help="say how long the generator must run, and how long the fuel lasts", epilog=CAUTION
    )
    parser.set_defaults(command="plan")
    _add_recording(parser, "*")
    add = parser.add_argument
    add("--json", metavar="FILE", help="write the plan as JSON; - for standard output")
    add("--language", choices=tuple(NAMES), default="en", help="of the text")
    add("--overcast", metavar="SHARE", default="1", help="of the usual sun that comes, such as 0.3")
    add("--fuel", metavar="AMOUNT", help="fuel at hand, litres (m³ of gas); else the sheet's tank and store")
    add("--soc", metavar="PERCENT", help="state of charge at the beginning; else the last recorded one")
    add("--days", metavar="N", default="60", help="to look ahead (60)")
    add("--quiet-hours", metavar="FROM-UNTIL", help="in which it must not run, such as 22-7")
    add("--most-starts", metavar="N", default="2", help="starts a day that the household will bear (2)")
    more = "; may be given several times"
    add("--start", metavar="PERCENT", action="append", help="compare starting at this" + more)
    add("--stop", metavar="PERCENT", action="append", help="compare stopping at this" + more)
    add("--limit", metavar="A", action="append", help="compare this AC input limit" + more)
    add("--run-hours", metavar="FROM-UNTIL", action="append", help="compare running by the clock" + more)
    add("--appliances", metavar="FILE", help="TOML with an [[appliance]] each, in place of the recorded load")
    add("--sun-hours", metavar="H", help="hours of full sun in a typical day, in place of the recorded sun")
    add("--runs", metavar="N", default="200", help="courses to simulate for each rule (200)")
    add("--seed", metavar="N", default="1", help="another run of chance")


def _add_pack(commands: argparse._SubParsersAction[_Parser]) -> None:
    parser = commands.add_parser("pack", help="put recordings with sheet, notes and report into one file")
    parser.set_defaults(command="pack")
    _add_recording(parser, "+")
    parser.add_argument("--to", metavar="FILE.zip", required=True, help="the pack; opened like a recording")
    parser.add_argument("--report", action="store_true", help="with the report as a page")
    parser.add_argument("--language", choices=tuple(NAMES), default="en", help="of the report")


def _add_compare(commands: argparse._SubParsersAction[_Parser]) -> None:
    parser = commands.add_parser(
        "compare", help="say what changed from one recording or charge session to another"
    )
    parser.set_defaults(command="compare")
    parser.add_argument("first", metavar="BEFORE", help="a recording")
    parser.add_argument("second", metavar="AFTER", nargs="?", help="another one; else the same")
    parser.add_argument(
        "--sessions",
        nargs=2,
        metavar=("N", "M"),
        help="compare the Nth charge session of BEFORE with the Mth of AFTER; else all sessions of each",
    )
    _add_reading(parser)
    parser.add_argument("--json", metavar="FILE", help="write it as JSON; - for standard output")
    parser.add_argument("--language", choices=tuple(NAMES), default="en", help="of the text")


def _add_desktop_entry(commands: argparse._SubParsersAction[_Parser]) -> None:
    parser = commands.add_parser("desktop-entry", help="put Headrace into the desktop's menu (Linux)")
    parser.set_defaults(command="desktop_entry")
    parser.add_argument("--remove", action="store_true", help="take it out again")


def _add_recording(parser: argparse.ArgumentParser, count: str) -> None:
    parser.add_argument(
        "recordings",
        metavar="RECORDING",
        nargs=count,
        help="CSV file or pack; several of one site are joined in time",
    )
    _add_reading(parser)


def _add_reading(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--site", metavar="SHEET", help=_SITE_HELP)
    order = parser.add_mutually_exclusive_group()
    order.add_argument(
        "--day-first", dest="day_first", action="store_true", default=None, help="dates are day, month, year"
    )
    order.add_argument(
        "--month-first", dest="day_first", action="store_false", help="dates are month, day, year"
    )


if __name__ == "__main__":
    sys.exit(main())
