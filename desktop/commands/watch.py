"""`headrace watch`: a live system in the window; where no window can be shown, its sentence once a minute."""

from __future__ import annotations

import argparse
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING

from desktop.commands.record import duration_s, interval_in_s
from desktop.interrupts import asked_to_stop
from desktop.screen import missing_screen
from desktop.words import Phrase, clock, tr

if TYPE_CHECKING:
    from desktop.diagnosis.finding import Finding
    from desktop.live.watch import Watch
    from desktop.review.moment import Moment

_LOOK_S = 0.25
_EVERY_S = 60.0


def run(options: argparse.Namespace) -> int:
    """Watch until the window is closed, the time is over, or somebody asks to stop."""
    wanted_s = duration_s(options.duration) if options.duration else None
    interval_s = interval_in_s(options.interval) if options.interval else None
    to = Path(options.to) if options.to else None
    reason = missing_screen()
    if reason:
        return _without_screen(options, reason, interval_s, to, wanted_s)
    from desktop.window.live.wish import Wish
    from desktop.window.run import run_watch

    site = Path(options.site) if options.site else None
    status: int = run_watch(
        Wish(options.source, site, to, interval_s), theme=options.theme, ends_after_s=wanted_s
    )
    return status


def _without_screen(
    options: argparse.Namespace,
    reason: str,
    interval_s: float | None,
    to: Path | None,
    wanted_s: float | None,
) -> int:
    from desktop.live.opening import open_watch

    watch = open_watch(options.source, site_path=options.site, interval_s=interval_s)
    print(f"No window can be shown here: {reason}. Each minute a line of what goes on; Ctrl-C ends.")
    print("To look at it afterwards: headrace record, then headrace review.", flush=True)
    with asked_to_stop() as asked:
        if to is not None:
            watch.record(to)
        watch.start()
        try:
            Telling(watch).run(asked, wanted_s)
        finally:
            watch.stop()
    if watch.error is not None:
        raise watch.error
    _tell_recorded(watch)
    return 0


class Telling:
    """Prints what goes on: each minute, and at once what is new and what has stopped."""

    def __init__(self, watch: Watch) -> None:
        self._watch = watch
        self._next = 0.0
        self._doing: tuple[str, str] = ("", "")
        self._was_stale = False
        self._known: set[tuple[str, int, str]] = set()

    def run(self, asked: threading.Event, wanted_s: float | None) -> None:
        """Until the time is over, the source has ended, or somebody asks to stop."""
        ends = None if wanted_s is None else time.monotonic() + wanted_s
        while not asked.wait(_LOOK_S) and (ends is None or time.monotonic() < ends):
            running = self._watch.running
            self._watch.take()
            self._tell_state()
            self._tell_review()
            if not running:
                return

    def _tell_state(self) -> None:
        state = self._watch.state
        doing = (state.phase, state.reason)
        if doing != self._doing and state.reason:
            self._say(time.time_ns(), f"{tr(state.phase)}: {state.reason}")
        self._doing = doing

    def _tell_review(self) -> None:
        review = self._watch.review
        if review is None:
            return
        for finding in review.findings:
            if _key(finding) not in self._known:
                self._known.add(_key(finding))
                self._say(finding.start, f"{tr(finding.severity)}: {finding.title}. {finding.text}")
        stale = self._watch.stale
        if stale != self._was_stale or time.monotonic() >= self._next:
            self._was_stale, self._next = stale, time.monotonic() + _EVERY_S
            last = int(review.recording.time[-1])
            self._say_moment(review.moment(last), stale)

    def _say_moment(self, moment: Moment, stale: bool) -> None:
        if stale:
            at = clock(moment.time, self._watch.site.zone)
            told = Phrase("Readings have stopped coming. The last was read at {at}.", at=at)
            self._say(time.time_ns(), str(told))
        else:
            self._say(moment.time, f"{moment.headline} {moment.detail}".strip())

    def _say(self, at: int, text: str) -> None:
        print(f"{clock(at, self._watch.site.zone)}  {text}", flush=True)


def _key(finding: Finding) -> tuple[str, int, str]:
    return finding.kind, finding.start, finding.channel


def _tell_recorded(watch: Watch) -> None:
    recorded = watch.recorded
    if recorded is not None and recorded.paths:
        names = ", ".join(str(path) for path in recorded.paths)
        print(Phrase("{names}: {rows} rows.", names=names, rows=recorded.rows))
    elif recorded is not None and recorded.trouble:
        print(recorded.trouble)
