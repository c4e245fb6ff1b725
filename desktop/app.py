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
    _add_record(commands)
    _add_probe(commands)
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
    parser = commands.add_parser("review", help="say what a recording shows, as text, JSON or a picture")
    parser.set_defaults(command="review")
    _add_recording(parser, "+")
    parser.add_argument("--json", metavar="FILE", help="write the review as JSON; - for standard output")
    parser.add_argument("--png", metavar="FILE", help="write the window as a picture")
    parser.add_argument("--at", metavar="TIME", help="the picture's instant: 14:03:20 or 2026-02-14T14:03:20")
    parser.add_argument("--size", metavar="WxH", default="1440x900", help="the picture's size in pixels")
    parser.add_argument("--theme", choices=("light", "dark"), default="light", help="the picture's theme")
    parser.add_argument("--language", choices=tuple(NAMES), default="en", help="of the text and the picture")


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


def _add_recording(parser: argparse.ArgumentParser, count: str) -> None:
    parser.add_argument(
        "recordings",
        metavar="RECORDING",
        nargs=count,
        help="CSV file; several of one site are joined in time",
    )
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
