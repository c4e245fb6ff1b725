"""Replay: how an instant moves through a recording while time passes."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from desktop.words import Phrase, local
from recordings.errors import UsageError

SPEEDS: tuple[int, ...] = (1, 2, 5, 10, 30, 60, 120, 300, 600, 1800, 3600)
"""Recorded seconds per second."""

_SECOND = 1_000_000_000


@dataclass(frozen=True, slots=True)
class Loop:
    """From `a` to `b` (UTC nanoseconds) and again."""

    a: int
    b: int


class ReplayClock:
    """An instant (UTC nanoseconds) within [first, last] that plays, pauses, steps and loops.

    It holds no timer: whoever shows it calls `tick` for every frame. `now` gives seconds that pass evenly.
    """

    def __init__(self, first: int, last: int, now: Callable[[], float]) -> None:
        self._now = now
        self.first, self.last = first, max(first, last)
        self._instant = first
        self._speed = 60
        self._playing = False
        self._since = 0.0
        self._from = first
        self._a: int | None = None
        self._b: int | None = None

    @property
    def instant(self) -> int:
        """Where it stands, as of the last tick."""
        return self._instant

    @property
    def playing(self) -> bool:
        """True while time passes."""
        return self._playing

    @property
    def speed(self) -> int:
        """Recorded seconds per second."""
        return self._speed

    @property
    def ends(self) -> tuple[int | None, int | None]:
        """A and B as they were set."""
        return self._a, self._b

    @property
    def loop(self) -> Loop | None:
        """The loop, once both its ends are set."""
        if self._a is None or self._b is None or self._a == self._b:
            return None
        return Loop(min(self._a, self._b), max(self._a, self._b))

    def play(self) -> None:
        """Let time pass; from the start where it stands at the end."""
        if self._instant >= self.last:
            self._instant = self.first
        self._playing = True
        self._restart()

    def pause(self) -> None:
        """Stand still."""
        self.tick()
        self._playing = False

    def set_speed(self, speed: int) -> None:
        """Recorded seconds per second, from here on."""
        self.tick()
        self._speed = min(max(int(speed), SPEEDS[0]), SPEEDS[-1])
        self._restart()

    def move(self, instant: int) -> int:
        """Go to an instant, as near as there is; play goes on from there. The instant it went to."""
        self._instant = min(max(instant, self.first), self.last)
        self._restart()
        return self._instant

    def mark_a(self) -> None:
        """The loop begins here."""
        self._a = self._instant

    def mark_b(self) -> None:
        """The loop ends here; playing, it starts over at once."""
        self._b = self._instant

    def clear_loop(self) -> None:
        """No loop."""
        self._a = self._b = None

    def extend(self, first: int, last: int) -> None:
        """The recording reaches from `first` to `last` now."""
        self.tick()
        self.first, self.last = first, max(first, last)
        self.move(self._instant)

    def tick(self) -> int:
        """The instant now. At the end of a loop it starts over, at the end of the recording it pauses."""
        if not self._playing:
            return self._instant
        passed = round((self._now() - self._since) * self._speed * _SECOND)
        instant = self._from + passed
        loop = self.loop
        if loop is not None and self._from <= loop.b < instant:
            instant = loop.a + (instant - loop.b) % (loop.b - loop.a)
            self._instant = instant
            self._restart()
            return instant
        self._instant = min(instant, self.last)
        if instant >= self.last:
            self._playing = False
        return self._instant

    def _restart(self) -> None:
        self._since, self._from = self._now(), self._instant


def next_of(instants: Sequence[int], instant: int) -> int | None:
    """The index of the first of these instants (in order) after an instant."""
    index = bisect_right(instants, instant)
    return index if index < len(instants) else None


def previous_of(instants: Sequence[int], instant: int) -> int | None:
    """The index of the last of these instants (in order) before an instant."""
    index = bisect_left(instants, instant) - 1
    return index if index >= 0 else None


_CLOCK = re.compile(
    r"(?:(?P<day>\d{4}-\d{1,2}-\d{1,2})[ T,]+)?(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2}))?"
)
_DAY = re.compile(r"(?P<day>\d{4}-\d{1,2}-\d{1,2})")


def typed_instant(text: str, near: int, zone: tzinfo) -> int:
    """What a person typed as a time, in UTC nanoseconds: `14:03`, `14:03:20`, `2026-02-14 14:03`, `2026-02-14`.

    Without a date it is the day of the instant `near` by the zone's clock. Of a time that the clock shows
    twice it is the first; one that the clock leaves out is UsageError, as is anything else.
    """
    found = _CLOCK.fullmatch(text.strip()) or _DAY.fullmatch(text.strip())
    if found is None:
        raise _not_a_time(text, "a time such as 14:03, 14:03:20 or 2026-02-14 14:03")
    parts = found.groupdict()
    try:
        day = datetime.strptime(parts["day"], "%Y-%m-%d") if parts["day"] else local(near, zone)
        hour, minute, second = (int(parts.get(name) or 0) for name in ("hour", "minute", "second"))
        wanted = datetime(day.year, day.month, day.day, hour, minute, second, tzinfo=zone)
    except ValueError as error:
        raise _not_a_time(text, "a day and time that exist") from error
    stamp = round(wanted.timestamp()) * _SECOND
    if local(stamp, zone).replace(tzinfo=None) != wanted.replace(tzinfo=None):
        raise _not_a_time(text, "a time that the clock shows; it was set forward over this one")
    return stamp


def _not_a_time(text: str, expected: str) -> UsageError:
    return UsageError("no such time", expected=expected, found=text)


def position_text(instant: int, first: int, last: int, zone: tzinfo) -> str:
    """`14:03:20`, with the day where the recording has more than one."""
    clock = local(instant, zone)
    days = {local(each, zone).date() for each in (first, last)}
    if len(days) < 2 and timedelta(microseconds=(last - first) / 1000) < timedelta(days=1):
        return clock.strftime("%H:%M:%S")
    return str(Phrase("{day} {clock}", day=clock.strftime("%Y-%m-%d"), clock=clock.strftime("%H:%M:%S")))
