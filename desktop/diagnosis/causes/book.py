"""The book of causes: load steps with what the charger did, and the rows around what may be urgent."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from desktop.charging.stops import Halt, Stops
from desktop.diagnosis.causes.back_off import LOOK_S, BackOff, measure_back_off
from desktop.diagnosis.causes.habits import Habit, habits, paired
from desktop.diagnosis.causes.seen import COLUMNS, Seen, seen
from desktop.diagnosis.causes.steps import Step, find_steps
from desktop.diagnosis.causes.windows import Triggers
from desktop.diagnosis.plant import Plant
from desktop.flow.block import Block
from desktop.flow.learned import Learned
from desktop.site import Site

BEFORE_S, AFTER_S = 120.0, 90.0
"""How much is kept before and after an instant at which something urgent may begin."""

CHUNK_ROWS = 4096
MOST_WINDOWS = 300

_FEWEST_ROWS, _MOST_ROWS = 8, 1500
_FIRST_WINDOWS = 100
_APART_NS = 45_000_000_000
_WORTH_SHARE, _WORTH_W = 0.04, 150.0


@dataclass(frozen=True, slots=True)
class LoadStep:
    """A step of the house load, and what the charger did while the generator carried the house."""

    step: Step
    back_off: BackOff | None


@dataclass(frozen=True, slots=True)
class CauseEvidence:
    """What the book holds at a moment.

    steps      in order
    windows    rows around the instants at which something urgent may have begun, in order
    halts      the ends of runs under load
    habits     what comes again and again, the greatest power first
    load_known, charger_known  whether the recording tells what house and charger take
    legs_known  whether it tells what each leg of the generator carries
    """

    plant: Plant
    steps: tuple[LoadStep, ...]
    windows: tuple[Seen, ...]
    halts: tuple[Halt, ...]
    habits: tuple[Habit, ...]
    load_known: bool
    charger_known: bool
    legs_known: bool

    def around(self, instant: int) -> Seen | None:
        """The kept rows around an instant (UTC nanoseconds): the window that reaches furthest on from it."""
        holding = [
            window for window in self.windows if len(window) and window.time[0] <= instant <= window.time[-1]
        ]
        return min(holding, key=lambda window: abs(_middle(window) - instant)) if holding else None

    def back_off_s(self) -> tuple[float, float, int]:
        """The median time from a load step until the charger began to give way, until it had done so, and from
        how many steps; NaN where none was seen."""
        seen = [
            one.back_off
            for one in self.steps
            if one.back_off is not None and one.back_off.began and one.step.size_w > 0
        ]
        if not seen:
            return math.nan, math.nan, 0
        began = float(np.median([one.began_s for one in seen]))
        return began, float(np.median([one.settled_s for one in seen])), len(seen)


def _middle(window: Seen) -> int:
    return int(window.time[0]) + round(BEFORE_S * 1e9)


class CauseBook:
    """Gathers from blocks that follow each other what chains of causes are made of.

    Rows are worked through in chunks that begin at fixed row numbers, with some rows before and after. So it
    makes no difference how they were cut into blocks.

    stops  shared with others that take the same blocks; None for its own
    """

    def __init__(self, learned: Learned, site: Site, stops: Stops | None = None) -> None:
        self._plant = Plant.of(learned, site)
        self._present = frozenset(learned.network.present)
        self._worth = max(_WORTH_W, _WORTH_SHARE * float(np.nan_to_num(self._plant.rated_w)))
        self._triggers = Triggers(self._plant)
        self._stops = Stops(learned, site) if stops is None else stops
        interval_s = learned.interval_s if learned.interval_s > 0 else 1.0
        self._before = _rows(BEFORE_S / interval_s)
        self._after = _rows(AFTER_S / interval_s)
        self._pending: list[Seen] = []
        self._waiting = 0
        self._ahead = 0
        self._legs_known = self._plant.legs == 1
        self._found = _Found([], [], None, False, False)

    def extend(self, block: Block) -> None:
        """Take the next rows."""
        if not len(block):
            return
        self._stops.extend(block)
        self._legs_known |= "generator_current_l1" in block.channels
        self._pending.append(seen(block, self._plant, self._present))
        self._waiting += len(block)
        if self._waiting >= self._ahead + CHUNK_ROWS + self._after:
            self._work()

    def _work(self) -> None:
        rows = _joined(self._pending)
        while len(rows) >= self._ahead + CHUNK_ROWS + self._after:
            end = self._ahead + CHUNK_ROWS
            self._take(self._found, rows.rows(0, end + self._after), self._ahead, end)
            cut = max(0, end - self._before)
            rows, self._ahead = rows.rows(cut, len(rows)), end - cut
        # A copy, so that what is over can be let go.
        kept = Seen(rows.time.copy(), rows.columns.copy())
        self._pending, self._waiting = [kept], len(kept)

    def evidence(self) -> CauseEvidence:
        """What was found in the rows so far."""
        found = self._found.copy()
        rows = _joined(self._pending)
        if len(rows):
            self._take(found, rows, self._ahead, len(rows))
        steps = [one.step for one in found.steps]
        groups = habits(paired(steps), self._plant.interval_s)
        return CauseEvidence(
            self._plant,
            tuple(found.steps),
            tuple(found.windows),
            tuple(self._stops.halts),
            tuple(groups),
            found.load_known,
            found.charger_known,
            self._legs_known,
        )

    def _take(self, found: _Found, rows: Seen, start: int, stop: int) -> None:
        """Work through the rows [start, stop) of those given; the others are there to look at."""
        core = rows.rows(start, stop)
        found.load_known |= "load" in self._present and bool(np.isfinite(core["load"]).any())
        found.charger_known |= bool(np.isfinite(core["converter_ac"]).any())
        found.steps += self._steps(rows, start, stop)
        for row in self._triggers.rows(rows):
            instant = int(rows.time[row])
            late = found.latest is not None and instant - found.latest < _APART_NS
            if start <= row < stop and not late:
                found.latest = instant
                found.keep(rows.rows(max(0, row - self._before), row + self._after))

    def _steps(self, rows: Seen, start: int, stop: int) -> list[LoadStep]:
        known = np.flatnonzero(np.isfinite(rows["load"])) if "load" in self._present else np.empty(0, int)
        if known.size < 3:
            return []
        time, load = rows.time[known], rows["load"][known]
        every = find_steps(time, load, self._plant.hold_s)
        numbers = known[[step.row for step in every]] if every else known[:0]
        steps = [
            LoadStep(step, self._back_off(rows, row, every[number:]))
            for number, (step, row) in enumerate(zip(every, numbers.tolist(), strict=True))
            if start <= row < stop
        ]
        return _greatest(steps, int(rows.time[stop - 1] - rows.time[start]) / 60e9)

    def _back_off(self, rows: Seen, row: int, steps: list[Step]) -> BackOff | None:
        """Watch the charger from the first of these steps on."""
        size = steps[0].size_w
        carried = rows["generator"][max(0, row - 1)]
        if size < self._worth or not carried > self._plant.carrying_w:
            return None
        late = next((one.time for one in steps[1:] if abs(one.size_w) > 0.5 * size), int(rows.time[-1]) + 1)
        late = min(late, int(rows.time[row]) + round(LOOK_S * 1e9) + 1)
        until = int(np.searchsorted(rows.time, late))
        idle = np.flatnonzero(rows["generator"][row:until] < self._plant.carrying_w)
        until = row + int(idle[0]) if idle.size else until
        return measure_back_off(rows.time, rows["converter_ac"], rows["generator"], row, size, until)


@dataclass(slots=True)
class _Found:
    steps: list[LoadStep]
    windows: list[Seen]
    latest: int | None
    load_known: bool
    charger_known: bool

    def copy(self) -> _Found:
        return _Found(list(self.steps), list(self.windows), self.latest, self.load_known, self.charger_known)

    def keep(self, window: Seen) -> None:
        """Keep a window: the first ones and the latest, where there are too many."""
        self.windows.append(Seen(window.time.copy(), window.columns.astype(np.float32).astype(np.float64)))
        if len(self.windows) > MOST_WINDOWS:
            del self.windows[_FIRST_WINDOWS]


def _greatest(steps: list[LoadStep], minutes: float) -> list[LoadStep]:
    """At most about one step a minute, the greatest."""
    most = max(8, math.ceil(minutes))
    if len(steps) <= most:
        return steps
    least = sorted((abs(one.step.size_w) for one in steps), reverse=True)[most - 1]
    return [one for one in steps if abs(one.step.size_w) >= least][:most]


def _joined(parts: list[Seen]) -> Seen:
    if not parts:
        return Seen(np.empty(0, np.int64), np.empty((len(COLUMNS), 0)))
    if len(parts) == 1:
        return parts[0]
    return Seen(
        np.concatenate([part.time for part in parts]),
        np.concatenate([part.columns for part in parts], axis=1),
    )


def _rows(count: float) -> int:
    return min(_MOST_ROWS, max(_FEWEST_ROWS, math.ceil(count)))
