"""Readings that stay equal to the last bit while others move."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.channel_names import CHANNEL_NAMES
from desktop.diagnosis.finding import Finding
from desktop.diagnosis.rows import Rows
from desktop.diagnosis.watch import Told, found
from desktop.words import Phrase

STUCK_S = 600.0
STUCK_ROWS = 30
"""A reading that moves by nature is stuck when it repeats for so long and over so many rows."""

MOVED_W, MOVED_SHARE = 100.0, 0.05
"""By how much another power must have changed meanwhile."""

_STRIDE = (STUCK_ROWS - 1) // 2
_LEAST = {"W": 50.0, "A": 1.0}

MOVING = (
    "generator_power",
    "generator_current",
    "generator_current_l1",
    "generator_current_l2",
    "generator_current_l3",
    "grid_power",
    "load_power",
    "solar_power",
    "solar_ac_power",
    "battery_power",
    "battery_current",
    "converter_ac_power",
    "converter_dc_power",
)
"""Channels that can't stand still by nature while they carry something. Voltages and frequency may: they are
regulated."""

Floats = NDArray[np.float64]


@dataclass(slots=True)
class _Streak:
    """Equal readings of a channel: the value, when it first and last came, in how many rows, and what the powers
    were when it began. `stuck` is what was made of it."""

    value: float
    start: int
    last: int
    rows: int
    powers: dict[str, float]
    stuck: _Stuck | None = None


@dataclass(slots=True)
class _Stuck:
    channel: str
    start: int
    end: int | None
    value: float


class StuckReadings:
    """Finds channels of MOVING that repeat one reading while the power of another one changes.

    Readings near nothing (50 W, 1 A) may repeat: meters round. A missing reading ends a streak.
    """

    def __init__(self) -> None:
        self._streaks: dict[str, _Streak] = {}
        self._found: list[_Stuck] = []

    def extend(self, rows: Rows) -> None:
        """Take the next rows."""
        if not len(rows.time):
            return
        for name in MOVING:
            if name in rows.block.channels:
                self._follow(name, rows.block.channels[name], rows)

    def _follow(self, name: str, read: Floats, rows: Rows) -> None:
        streak = self._streaks.get(name)
        least = _LEAST["A" if "current" in name else "W"]
        breaks = _Breaks(read, rows.block.gap, streak.value if streak else np.nan, least)
        first, streaks = breaks.streaks()
        self._lengthen(name, rows, 0, first)
        for start, stop in streaks:
            self._end(name)
            self._begin(name, rows, start)
            self._lengthen(name, rows, start + 1, stop)

    def _end(self, name: str) -> None:
        streak = self._streaks.get(name)
        if streak is not None and streak.stuck is not None:
            # It ends with the last row that repeated the reading.
            streak.stuck.end = streak.last

    def _begin(self, name: str, rows: Rows, row: int) -> None:
        time = int(rows.time[row])
        powers = {
            other: float(read[row])
            for other, read in rows.block.channels.items()
            if other != name and other in MOVING and other.endswith("_power")
        }
        self._streaks[name] = _Streak(float(rows.block.channels[name][row]), time, time, 1, powers)

    def _lengthen(self, name: str, rows: Rows, start: int, stop: int) -> None:
        streak = self._streaks.get(name)
        if streak is None or stop <= start:
            return
        since = max(
            start + STUCK_ROWS - 1 - streak.rows,
            int(np.searchsorted(rows.time, streak.start + round(STUCK_S * 1e9))),
        )
        streak.last, streak.rows = int(rows.time[stop - 1]), streak.rows + stop - start
        if (
            streak.stuck is None
            and since < stop
            and self._others_moved(streak, rows, max(since, start), stop)
        ):
            streak.stuck = _Stuck(name, streak.start, None, streak.value)
            self._found.append(streak.stuck)

    def _others_moved(self, streak: _Streak, rows: Rows, start: int, stop: int) -> bool:
        for other, was in streak.powers.items():
            read = rows.block.channels[other][start:stop]
            if (np.abs(read - was) > np.maximum(MOVED_W, MOVED_SHARE * np.abs(read))).any():
                return True
        return False

    def findings(self) -> list[Finding]:
        """What was found so far."""
        return [found("telemetry_stuck", one.start, one.end, _tell(one)) for one in self._found]


class _Breaks:
    """Where a reading differs from the one before, follows a gap, is missing, or is too small to count."""

    def __init__(self, read: Floats, gap: NDArray[np.bool_], before: float, least: float) -> None:
        self._read, self._gap, self._before, self._least = read, gap, before, least

    def streaks(self) -> tuple[int, list[tuple[int, int]]]:
        """The first break, and the streaks from there on that count: the long ones and the last one."""
        n = len(self._read)
        if n > 4 * STUCK_ROWS and not self._maybe_long():
            first = int(self._rows(0, 2 * STUCK_ROWS)[0])
            return first, [(int(self._rows(n - 2 * STUCK_ROWS, n)[-1]), n)]
        begins = self._rows(0, n)
        if not len(begins):
            return n, []
        ends = np.append(begins[1:], n)
        keep = ends - begins >= STUCK_ROWS
        keep[-1] = True
        return int(begins[0]), list(zip(begins[keep].tolist(), ends[keep].tolist(), strict=True))

    def _maybe_long(self) -> bool:
        # A streak of STUCK_ROWS rows meets two neighbouring samples.
        later = self._read[_STRIDE::_STRIDE]
        earlier = self._read[_STRIDE - 1 :: _STRIDE][: len(later)]
        equal = (later == earlier) & (np.abs(later) >= self._least)
        return bool((equal[1:] & equal[:-1]).any())

    def _rows(self, start: int, stop: int) -> NDArray[np.int64]:
        read = self._read[start:stop]
        broken = np.empty(len(read), np.bool_)
        broken[0] = read[0] != (self._before if start == 0 else self._read[start - 1])
        broken[1:] = read[1:] != read[:-1]
        broken |= self._gap[start:stop]
        return np.flatnonzero(broken | (np.abs(read) < self._least)) + start


def _tell(one: _Stuck) -> Told:
    amperes = "current" in one.channel
    value = Phrase("{value:A}", value=one.value) if amperes else Phrase("{value:W}", value=one.value)
    seconds = np.nan if one.end is None else (one.end - one.start) / 1e9
    lasting = Phrase("; it still does") if one.end is None else Phrase(" for {time:time}", time=seconds)
    return Told(
        channel=one.channel,
        peak=one.value,
        threshold=np.nan,
        unit="A" if amperes else "W",
        title=Phrase("A reading stands still"),
        text=Phrase(
            "{channel} read exactly {value} while other readings moved{lasting}.",
            channel=CHANNEL_NAMES[one.channel],
            value=value,
            lasting=lasting,
        ),
        advice=Phrase("The meter or its line hangs: restart it, and don't trust the balance of that time."),
    )
