"""`headrace record`: rows from a live source into a file or a folder of days, until told to stop."""

from __future__ import annotations

import argparse
import re
import sys
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING

from desktop.interrupts import asked_to_stop
from desktop.words import Phrase, template, tr
from recordings.errors import SourceError, UsageError

if TYPE_CHECKING:
    from desktop.sheet.recorded import SheetBeside
    from drivers.reader import Reader
    from drivers.source import State
    from recordings.recorder import Recorder

_LOOK_S = 0.25
_CLOSING_S = 2.0
_UNITS = {"": 1.0, "s": 1.0, "m": 60.0, "min": 60.0, "h": 3600.0, "d": 86400.0}
_PHASES = {
    "connecting": template("connecting"),
    "reading": template("reading"),
    "ended": template("ended"),
}
_PART = r"(\d+(?:\.\d+)?)\s*(s|min|m|h|d|)\s*"


def run(options: argparse.Namespace) -> int:
    """Record until the time is over, the source has ended, or somebody asks to stop."""
    wanted_s = duration_s(options.duration) if options.duration else None
    interval_s = interval_in_s(options.interval) if options.interval else None
    # All of these are heavy, and a mistyped option needs none of them.
    from desktop.live.opening import open_live
    from desktop.sheet.recorded import SheetBeside
    from drivers.reader import Reader
    from recordings.recorder import Recorder

    live = open_live(options.source, interval_s=interval_s)
    source, beside = live.source, SheetBeside(live.sheet)
    beside.check(Path(options.to))
    with asked_to_stop() as asked:
        recorder = Recorder(options.to, timezone=live.site.site.timezone, archive=options.archive)
        with recorder:
            reader = Reader(source).start()
            status = StatusLine(source.name)
            taking = Taking(reader, recorder, beside, status)
            try:
                _record(taking, asked, wanted_s)
                last = reader.state
            finally:
                reader.stop(_CLOSING_S)
                taking.take(0.0)
                status.clear()
        taking.put_sheets()
    if reader.error is not None:
        raise reader.error
    return _told(recorder, last, source.name, asked)


def duration_s(text: str) -> float:
    """`90`, `90s`, `5min`, `1h30m`, `2d` in seconds."""
    plain = text.strip().lower()
    if not re.fullmatch(f"(?:{_PART})+", plain):
        raise UsageError("--for can't be used", expected="a time such as 90s, 5min, 1h30m or 2d", found=text)
    seconds = sum(float(number) * _UNITS[unit] for number, unit in re.findall(_PART, plain))
    if seconds <= 0.0:
        raise UsageError("--for can't be used", expected="more than nothing", found=text)
    return seconds


def interval_in_s(text: str) -> float:
    """The seconds of an option: `0.5`, `2s`."""
    try:
        seconds = float(text.strip().removesuffix("s"))
    except ValueError:
        seconds = 0.0
    if not 0.05 <= seconds <= 3600.0:
        raise UsageError("--interval can't be used", expected="seconds, from 0.05 to 3600", found=text)
    return seconds


def _record(taking: Taking, asked: threading.Event, wanted_s: float | None) -> None:
    ends = None if wanted_s is None else time.monotonic() + wanted_s
    while not asked.is_set() and (ends is None or time.monotonic() < ends):
        left = _LOOK_S if ends is None else min(_LOOK_S, max(0.0, ends - time.monotonic()))
        going = taking.reader.running_or_new
        if not taking.take(left) and not going:
            return


class Taking:
    """From the reader onto the disk, with the site sheet beside each file."""

    def __init__(self, reader: Reader, recorder: Recorder, beside: SheetBeside, status: StatusLine) -> None:
        self.reader, self._recorder = reader, recorder
        self._beside, self._status = beside, status

    def take(self, wait_s: float) -> bool:
        """Record what has come. TakenError where the file was somebody else's from the beginning."""
        frames = self.reader.take(wait_s)
        recorder = self._recorder
        recorder.declare(self.reader.source.channels)
        for frame in frames:
            recorder.append(frame.time, frame.columns)
        recorder.tick()
        if recorder.taken and not recorder.rows:
            raise recorder.taken
        self._status.show(recorder, self.reader.state)
        self.put_sheets()
        return bool(frames)

    def put_sheets(self) -> None:
        """Put the sheet beside each file that was begun."""
        for path in self._recorder.paths:
            told = self._beside.put(path)
            if told:
                self._status.tell(str(told))


def _told(recorder: Recorder, last: State, name: str, asked: threading.Event) -> int:
    if recorder.rows:
        names = ", ".join(str(path) for path in recorder.paths)
        print(Phrase("{names}: {rows} rows.", names=names, rows=recorder.rows))
        return 0
    if asked.is_set():
        print(Phrase("No row came; nothing was written."))
        return 0
    why = f"no row came: {last.reason}" if last.reason else "no row came"
    raise SourceError(why, where=name, mend="try headrace probe, or record for longer")


class StatusLine:
    """What goes on, for people: one line that is kept up to date on a terminal, else a line for each change."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._terminal = sys.stderr.isatty()
        self._shown = ""
        self._next = 0.0
        self._waits = ""

    def show(self, recorder: Recorder, state: State) -> None:
        """Show it, at most once a second."""
        if time.monotonic() < self._next:
            return
        self._next = time.monotonic() + 1.0
        if self._terminal:
            self._draw(str(_line(self._name, recorder, state)))
            return
        waits = recorder.trouble or (_doing(state) if state.phase == "waiting" else "")
        # Only that something changed is worth a line in a log, not every new count of rows that wait.
        if bool(waits) != bool(self._waits):
            told = waits or str(Phrase("{name}: recording goes on.", name=self._name))
            print(f"headrace: {told}", file=sys.stderr, flush=True)
        self._waits = waits

    def tell(self, line: str) -> None:
        """Say something that stays."""
        self.clear()
        print(f"headrace: {line}", file=sys.stderr, flush=True)

    def clear(self) -> None:
        """Take the line off the terminal."""
        if self._terminal and self._shown:
            self._draw("")
            sys.stderr.write("\r")
            sys.stderr.flush()

    def _draw(self, text: str) -> None:
        import shutil

        most = max(20, shutil.get_terminal_size().columns - 1)
        text = text if len(text) <= most else text[: most - 1] + "…"
        sys.stderr.write("\r" + text.ljust(len(self._shown)))
        sys.stderr.flush()
        self._shown = text


def _line(name: str, recorder: Recorder, state: State) -> Phrase:
    path = recorder.paths[-1].name if recorder.paths else "–"
    doing = recorder.trouble or _doing(state)
    return Phrase(
        "{name} → {file} · {rows} rows · {doing} · Ctrl-C ends",
        name=name,
        file=path,
        rows=recorder.rows + recorder.waiting,
        doing=doing,
    )


def _doing(state: State) -> str:
    if state.phase != "waiting":
        return tr(_PHASES[state.phase])
    if state.retry_at is None:
        return str(Phrase("waiting: {reason}", reason=state.reason))
    left = max(0.0, (state.retry_at - time.time_ns()) / 1e9)
    return str(Phrase("waiting: {reason}; next try in {left:time}", reason=state.reason, left=left))
