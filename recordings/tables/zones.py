"""Clock times of a place into UTC, through the hours that daylight saving skips or repeats.

In the hour that comes twice in autumn the first pass is daylight time, until the clock goes back.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
from numpy.typing import NDArray

from recordings.errors import ReadError

Integers = NDArray[np.int64]
SECOND = 1_000_000_000
_DAY_S = 86_400
_SLACK_S = 60


@dataclass(slots=True)
class Shifts:
    """When a clock is shifted (UTC seconds); its offsets (seconds east) before the first shift and after each."""

    at: Integers
    offsets: Integers

    @property
    def old_ends(self) -> Integers:
        """What the clock shows, by the old offset, at each shift."""
        return self.at + self.offsets[:-1]

    @property
    def new_begins(self) -> Integers:
        """What the clock shows, by the new offset, at each shift."""
        return self.at + self.offsets[1:]


@dataclass(slots=True)
class Localised:
    """UTC nanoseconds, and what there is to say about them."""

    ns: Integers
    notes: list[str] = field(default_factory=list)


def zone_named(name: str, where: str) -> tzinfo:
    """A time zone by its name. ReadError where there is none."""
    if name.upper() in ("UTC", "Z", "GMT"):
        return UTC
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError, UnicodeError) as error:
        raise ReadError(
            "unknown time zone", where=where, expected="a name such as Europe/Berlin", found=name
        ) from error


def to_utc(wall: Integers, zone: tzinfo, name: str, where: str) -> Localised:
    """Clock times (nanoseconds) in the order of the file as UTC.

    ReadError where the clock runs on through an hour that daylight saving skips: such a logger never changes
    its clock, and its summers would be read an hour wrong.
    """
    if not len(wall):
        return Localised(wall)
    seconds = wall // SECOND
    shifts = shifts_of(zone, int(seconds.min()) - 2 * _DAY_S, int(seconds.max()) + 2 * _DAY_S)
    latest = np.searchsorted(shifts.new_begins, seconds, side="right")
    earliest = np.searchsorted(shifts.old_ends, seconds, side="right")
    chosen = earliest.copy()
    skipped = earliest > latest
    # The old offset still holds for a clock that has not been put forward yet.
    chosen[skipped] = latest[skipped]
    notes = _skipped_notes(wall, skipped, shifts, latest, name, where)
    twice = earliest < latest
    if twice.any():
        second_pass, note = _second_pass(wall, twice, latest, shifts)
        chosen[second_pass] = latest[second_pass]
        notes += note
    return Localised(wall - shifts.offsets[chosen] * SECOND, notes)


def shifts_of(zone: tzinfo, first: int, last: int) -> Shifts:
    """Every shift of a zone's clock between two UTC seconds, to the second."""
    first, last = max(first, -9_200_000_000), min(last, 9_220_000_000)
    offset = _offset(zone, first)
    at: list[int] = []
    offsets = [offset]
    for day in range(first, last, _DAY_S):
        following = _offset(zone, day + _DAY_S)
        if following != offset:
            at.append(_bisected(zone, day, day + _DAY_S, offset))
            offsets.append(following)
            offset = following
    return Shifts(np.array(at, np.int64), np.array(offsets, np.int64))


def _bisected(zone: tzinfo, before: int, after: int, offset: int) -> int:
    while after - before > 1:
        middle = (before + after) // 2
        before, after = (middle, after) if _offset(zone, middle) == offset else (before, middle)
    return after


def _offset(zone: tzinfo, seconds: int) -> int:
    difference = datetime.fromtimestamp(seconds, UTC).astimezone(zone).utcoffset()
    return int(difference.total_seconds()) if difference else 0


def _second_pass(
    wall: Integers, twice: NDArray[np.bool_], shift: Integers, shifts: Shifts
) -> tuple[NDArray[np.bool_], list[str]]:
    """Rows of a repeated hour that come after the clock went back."""
    step = np.diff(wall, prepend=wall[0]) // SECOND
    usual = int(np.median(np.diff(wall))) // SECOND if len(wall) > 1 else 0
    second = np.zeros(len(wall), bool)
    notes = []
    for number in np.unique(shift[twice]):
        rows = np.flatnonzero(twice & (shift == number))
        fold = int(shifts.old_ends[number - 1] - shifts.new_begins[number - 1])
        back = (step[rows] < usual - fold // 2) | (step[rows] < -(_SLACK_S + 5 * max(usual, 0)))
        # The very first row of the file has no row before it to have gone back from.
        back &= rows > 0
        second[rows] = np.cumsum(back) > 0
        if not back.any() and rows[-1] + 1 < len(wall) and step[rows[-1] + 1] <= 3 * max(usual, 1):
            moment = np.datetime64(int(shifts.new_begins[number - 1]), "s")
            notes.append(
                f"the clock shows the hour from {_shown(moment)} once, though daylight saving repeats it"
            )
    return second, notes


def _skipped_notes(
    wall: Integers, skipped: NDArray[np.bool_], shifts: Shifts, latest: Integers, name: str, where: str
) -> list[str]:
    rows = np.flatnonzero(skipped)
    if not len(rows):
        return []
    step = np.diff(wall)
    usual = np.median(step) if len(step) else 0
    after = rows[(rows + 1 < len(wall))]
    runs_on = after[~skipped[after + 1] & (step[after] > 0) & (step[after] <= 3 * usual)]
    first = np.datetime64(int(wall[rows[0]]) // SECOND, "s")
    if len(runs_on):
        standard = int(shifts.offsets[latest[runs_on[0]]])
        raise ReadError(
            f"the clock time {_shown(first)} doesn't exist in {name}: this logger keeps one time all year",
            where=where,
            mend=f"set [site] timezone to a zone without daylight saving{_fixed(standard)}",
        )
    return [f"{len(rows)} rows have a clock time that daylight saving skips; read as winter time"]


def _fixed(standard: int) -> str:
    return f', such as "Etc/GMT{-standard // 3600:+d}"' if standard % 3600 == 0 and standard else ""


def _shown(moment: np.datetime64) -> str:
    return str(moment).replace("T", " ")
