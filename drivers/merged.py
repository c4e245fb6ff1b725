"""Several sources as one: a row per cycle, with each channel's freshest reading of that cycle."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from drivers.combining import Share, combined, row
from drivers.reader import Reader
from drivers.roles import Role
from drivers.source import Frame, Phase, Source, State, in_order
from drivers.timing import Ticker, Timing

_OLDEST_CYCLES = 2
"""A reading that has waited for so many cycles is old; and after so many empty ones everything is missing."""

_LOOK_S = 0.05
_BEGINNING_S = 3.0
"""How long the first row waits for devices that are still being reached: so it shows the whole plant."""


@dataclass(slots=True)
class Member:
    """One of the sources, and what its device is in the plant (asked anew each time: a guess may change)."""

    reader: Reader
    role: Callable[[], Role | None]
    frames: list[Frame] = field(default_factory=list)
    came: bool = False
    reading_at: float | None = None

    def share(self, oldest: int) -> Share:
        """What it brings to a row, and what it has then given away. Readings before `oldest` are left out."""
        values: dict[str, float] = {}
        read_at: dict[str, float] = {}
        for frame in self.frames:
            stamp = int(frame.time[-1])
            for channel, column in frame.columns.items():
                if stamp >= oldest:
                    values[channel] = float(column[-1])
                    read_at[channel] = stamp / 1e9 - frame.skew_s.get(channel, 0.0)
        self.frames = []
        return Share(self.role(), frozenset(self.reader.source.channels), values, read_at)


class MergedSource:
    """Runs each source in a thread of its own.

    A row is given as soon as all that are reading have brought something, at the latest when the cycle ends.
    A source that is silent leaves NaN; it holds nobody up for longer than a cycle.
    """

    def __init__(
        self,
        members: Sequence[tuple[Source, Callable[[], Role | None]]],
        *,
        interval_s: float = 1.0,
        timing: Timing | None = None,
    ) -> None:
        self._timing = timing or Timing()
        self._interval_s = interval_s
        self._wake = threading.Event()
        self._members = [Member(Reader(source, notify=self._wake.set), role) for source, role in members]
        self._stopped = threading.Event()
        self._last: int | None = None
        self._empty = 0
        self._begun = False
        self._ended: State | None = None
        self._since: tuple[Phase, str, int] = ("connecting", "", self._timing.utc())

    @property
    def name(self) -> str:
        """The names of its sources."""
        return ", ".join(member.reader.source.name for member in self._members)

    @property
    def channels(self) -> tuple[str, ...]:
        """What its sources give."""
        return in_order(name for member in self._members for name in member.reader.source.channels)

    @property
    def state(self) -> State:
        """reading as soon as one of them is; the reason names those that aren't."""
        if self._ended is not None:
            return self._ended
        states = [(member.reader.source.name, member.reader.source.state) for member in self._members]
        phases: tuple[Phase, ...] = ("reading", "connecting", "waiting", "ended")
        phase = next(phase for phase in phases if any(state.phase == phase for _, state in states))
        reason = "; ".join(f"{name}: {state.reason}" for name, state in states if state.reason)
        retries = [state.retry_at for _, state in states if state.retry_at is not None]
        if self._since[:2] != (phase, reason):
            self._since = (phase, reason, self._timing.utc())
        retry_at = min(retries, default=None) if phase == "waiting" else None
        return State(phase, self._since[2], reason, retry_at)

    def stop(self) -> None:
        """Make `frames` end."""
        self._stopped.set()
        for member in self._members:
            member.reader.source.stop()
        self._wake.set()

    def frames(self) -> Iterator[Frame]:
        """Rows until it is stopped or all sources have ended. SourceError where one can't be understood."""
        reason = "stopped"
        try:
            for member in self._members:
                member.reader.start()
            ticker = Ticker(self._interval_s, self._timing)
            while ticker.wait(self._stopped):
                going = self._gather()
                self._begun = True
                yield from self._row()
                if not going:
                    reason = "all sources have ended"
                    break
        finally:
            self.stop()
            for member in self._members:
                member.reader.stop()
            self._ended = State("ended", self._timing.utc(), reason)

    def _gather(self) -> bool:
        """Wait until everybody who is reading has brought something. False once all have ended."""
        began = self._timing.monotonic()
        while not self._stopped.is_set():
            self._wake.clear()
            going = self._take()
            left = max((self._patience(each, began) for each in going if not each.frames), default=0.0)
            if not going or (left <= 0.0 and (self._anything() or self._left(began) <= 0.0)):
                return bool(going)
            wait = left if left > 0.0 else self._left(began)
            # That a device can't be reached wakes nobody.
            self._timing.wait(self._wake, wait if self._begun else min(wait, _LOOK_S))
        return False

    def _left(self, since: float) -> float:
        return since + self._interval_s - self._timing.monotonic()

    def _patience(self, member: Member, began: float) -> float:
        """How long a row still waits for it, s: those that are being reached only hold up the very first."""
        phase = member.reader.state.phase
        if phase == "reading":
            member.reading_at = member.reading_at or self._timing.monotonic()
            return self._left(max(began, member.reading_at))
        if phase == "connecting" and not self._begun:
            return began + _BEGINNING_S - self._timing.monotonic()
        return 0.0

    def _take(self) -> list[Member]:
        """Take over what has come. Those that are still going; the error of one that never began is raised."""
        going: list[Member] = []
        for member in self._members:
            running = member.reader.running_or_new
            frames = member.reader.take()
            member.frames += frames
            member.came = member.came or bool(frames)
            if running:
                going.append(member)
            elif member.reader.error is not None and not member.came:
                raise member.reader.error
        return going

    def _anything(self) -> bool:
        return any(member.frames for member in self._members)

    def _row(self) -> Iterator[Frame]:
        latest = [int(frame.time[-1]) for member in self._members for frame in member.frames]
        if not latest:
            self._empty += 1
            if self._empty == _OLDEST_CYCLES:
                yield from self._nothing()
            return
        self._empty = 0
        newest = max(latest)
        device_times = [
            frame.device_time
            for member in self._members
            for frame in member.frames
            if frame.device_time is not None
        ]
        oldest = newest - round(_OLDEST_CYCLES * self._interval_s * 1e9)
        values, read_at = combined([member.share(oldest) for member in self._members])
        if values:
            stamp = self._rising(newest)
            ages = {channel: max(0.0, stamp / 1e9 - when) for channel, when in read_at.items()}
            yield row(stamp, values, ages, device_times[-1] if device_times else None)

    def _nothing(self) -> Iterator[Frame]:
        if self._last is not None:
            yield row(self._rising(self._timing.utc()), dict.fromkeys(self.channels, math.nan), {})

    def _rising(self, stamp: int) -> int:
        self._last = stamp if self._last is None else max(stamp, self._last + 1)
        return self._last
