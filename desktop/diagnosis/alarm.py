"""One alarm treatment for everything: threshold, deadband, on-delay and off-delay (ISA-18.2 / IEC 62682).

An alarm is raised once a value has lain beyond its threshold, row after row, for the on-delay, and dates from
the first of those rows. It clears once the value has lain back past the threshold by more than the deadband
for the off-delay, and ends with the first of those rows. Several stages give an inverse characteristic: the
further beyond, the sooner.

A row lasts until the row that confirms it: one row beyond a threshold has lasted for no time, two rows a
minute apart for a minute. So a log that is slower than the delay needs two rows in a row.

A missing value neither raises nor clears; the rows around it are neighbours. Where values are missing for
longer than `hold_s`, nothing is assumed of that time: a delay that was running starts anew, and a standing
event ends at the last known row, with `end_seen` False.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Times = NDArray[np.int64]
Truths = NDArray[np.bool_]
Rows = NDArray[np.int64]

_NOTHING: Mapping[str, Floats] = {}


@dataclass(frozen=True, slots=True)
class Stage:
    """Beyond `factor` times the threshold for `on_delay_s` raises."""

    on_delay_s: float
    factor: float = 1.0


@dataclass(frozen=True, slots=True)
class Treatment:
    """How a value is judged.

    stages          the first is the nearest; later ones lie further out
    off_delay_s     how long the value must be back
    hold_s          for how long a missing value leaves things as they are
    deadband        how far it must be back from the first stage's level, in the value's unit
    deadband_share  the same as a share of the threshold; both add up
    below           True where lower values are the worse ones
    """

    stages: tuple[Stage, ...]
    off_delay_s: float
    hold_s: float
    deadband: float = 0.0
    deadband_share: float = 0.0
    below: bool = False


@dataclass(slots=True)
class Event:
    """A stretch beyond the threshold. Times UTC nanoseconds; it still stands while `end` is None.

    start      the first row beyond the threshold
    raised     the row at which the on-delay had run out
    end        the first row back
    end_seen   False where the value was lost instead
    peak       the value furthest beyond its threshold, and `threshold` the one that it was held against then
    at_start, at_peak, at_end   what else was measured at those rows
    """

    start: int
    raised: int
    end: int | None
    peak: float
    threshold: float
    peak_at: int
    end_seen: bool = True
    at_start: dict[str, float] = field(default_factory=dict)
    at_peak: dict[str, float] = field(default_factory=dict)
    at_end: dict[str, float] = field(default_factory=dict)


@dataclass(slots=True)
class _Worst:
    beyond: float = -np.inf
    value: float = np.nan
    threshold: float = np.nan
    at: int = 0
    context: dict[str, float] = field(default_factory=dict)


@dataclass(slots=True)
class _Run:
    """Rows that lie on one side without a break, as far as they have come."""

    start: int
    context: dict[str, float]
    worst: _Worst = field(default_factory=_Worst)


@dataclass(slots=True)
class _Known:
    """The known rows of a block. `run` arrays hold for each row the row at which its run began, -1 for before."""

    time: Times
    value: Floats
    threshold: Floats
    context: dict[str, Floats]
    broken: Truths
    previous: Times

    def at(self, row: int) -> dict[str, float]:
        return {name: float(column[row]) for name, column in self.context.items()}


class Alarm:
    """Judges values that arrive block by block. Any cutting of the rows into blocks gives the same events."""

    def __init__(self, treatment: Treatment) -> None:
        self.treatment = treatment
        self._hold = round(treatment.hold_s * 1e9)
        self._off = round(treatment.off_delay_s * 1e9)
        self._on = [round(stage.on_delay_s * 1e9) for stage in treatment.stages]
        self._last: int | None = None
        self._beyond: list[_Run | None] = [None] * len(treatment.stages)
        self._back: _Run | None = None
        self._standing: Event | None = None
        self._worst = _Worst()
        self.events: list[Event] = []

    @property
    def idle(self) -> bool:
        """True while nothing stands and no delay runs: rows that lie on the good side may then be left out."""
        return self._standing is None and self._beyond[0] is None

    @property
    def standing(self) -> Event | None:
        """The event that stands."""
        return self._standing

    def extend(
        self,
        time: Times,
        value: Floats,
        threshold: Floats | float,
        context: Mapping[str, Floats] = _NOTHING,
    ) -> list[Event]:
        """Take the next rows, and give the events raised in them.

        time       (n,) UTC nanoseconds
        value      (n,), NaN where not known; −inf (or +inf where lower is worse) where it can't apply
        threshold  (n,) or one for all; NaN where not known
        context    other columns of which the values at start, peak and end are to be kept
        """
        if not len(time):
            return []
        beyond = self._beyond_of(value, threshold, self.treatment.stages[0])
        if self.idle and not beyond.any():
            self._note(time, value, threshold)
            return []
        known = self._known(time, value, threshold, context)
        raised = self._judge(known) if len(known.time) else []
        self._lose(int(time[-1]))
        return raised

    def _beyond_of(self, value: Floats, threshold: Floats | float, stage: Stage) -> Truths:
        level = threshold * stage.factor
        found: Truths = value < level if self.treatment.below else value > level
        return found

    def _back_of(self, value: Floats, threshold: Floats) -> Truths:
        level = threshold * self.treatment.stages[0].factor
        margin = self.treatment.deadband + self.treatment.deadband_share * np.abs(level)
        found: Truths = value > level + margin if self.treatment.below else value < level - margin
        return found

    def _note(self, time: Times, value: Floats, threshold: Floats | float) -> None:
        if value[-1] == value[-1] and np.ndim(threshold) == 0:
            self._last = int(time[-1])
            return
        known = np.flatnonzero(~np.isnan(value + threshold))
        if known.size:
            self._last = int(time[known[-1]])

    def _known(
        self, time: Times, value: Floats, threshold: Floats | float, context: Mapping[str, Floats]
    ) -> _Known:
        every = np.broadcast_to(np.asarray(threshold, dtype=np.float64), value.shape)
        here = ~(np.isnan(value) | np.isnan(every))
        if here.all():
            kept = dict(context)
        else:
            time, value, every = time[here], value[here], every[here]
            kept = {name: column[here] for name, column in context.items()}
        before = self._last if self._last is not None else -(1 << 62)
        previous = np.concatenate((np.array([before], np.int64), time[:-1]))[: len(time)]
        return _Known(time, value, every, kept, time - previous > self._hold, previous)

    def _judge(self, known: _Known) -> list[Event]:
        marks, beyond, back = self._marks(known)
        latest = np.maximum.accumulate(np.where(marks != 0, np.arange(len(marks)), -1))
        stands = np.where(latest >= 0, marks[latest] > 0, self._standing is not None)
        stood = np.concatenate(([self._standing is not None], stands[:-1]))
        changes = np.flatnonzero((stands != stood) | (known.broken & stood))
        raised: list[Event] = []
        row = 0
        for change in changes.tolist():
            if stood[change]:
                self._watch_peak(known, row, change)
                self._close(known, change, back)
            if stands[change]:
                raised.append(self._raise(known, change, int(beyond[0][change])))
                row = max(int(beyond[0][change]), 0)
        if self._standing is not None:
            self._watch_peak(known, row, len(known.time))
        self._carry(known, beyond, back)
        return raised

    def _marks(self, known: _Known) -> tuple[NDArray[np.int8], list[Rows], Rows]:
        """+1 where an event is raised or kept up, -1 where it ends, and the runs on either side."""
        marks = np.where(known.broken, np.int8(-1), np.int8(0))
        runs: list[Rows] = []
        for number, stage in enumerate(self.treatment.stages):
            mask = self._beyond_of(known.value, known.threshold, stage)
            begun = _began(mask, known.broken)
            since = self._since(known, begun, self._beyond[number])
            marks[mask & (known.time - since >= self._on[number])] = 1
            runs.append(begun)
        mask = self._back_of(known.value, known.threshold)
        back = _began(mask, known.broken)
        since = self._since(known, back, self._back)
        marks[mask & (known.time - since >= self._off)] = -1
        return marks, runs, back

    def _since(self, known: _Known, begun: Rows, before: _Run | None) -> Times:
        carried = before.start if before is not None else 0
        continued = begun < 0
        since: Times = known.time[begun]
        if continued.any():
            first = carried if before is not None else known.time[0]
            since = np.where(continued, first, since)
        return since

    def _raise(self, known: _Known, row: int, begun: int) -> Event:
        run = self._beyond[0]
        if begun < 0 and run is not None:
            start, context, self._worst = run.start, run.context, run.worst
        else:
            begun = max(begun, 0)
            start, context, self._worst = int(known.time[begun]), known.at(begun), _Worst()
        event = Event(start, int(known.time[row]), None, np.nan, np.nan, start, at_start=context)
        self._standing = event
        self.events.append(event)
        return event

    def _close(self, known: _Known, row: int, back: Rows) -> None:
        event = self._standing
        if event is None:
            return
        if known.broken[row]:
            event.end, event.end_seen = int(known.previous[row]), False
        elif back[row] < 0 and self._back is not None:
            event.end, event.at_end = self._back.start, self._back.context
        else:
            begun = max(int(back[row]), 0)
            event.end, event.at_end = int(known.time[begun]), known.at(begun)
        self._standing = None

    def _watch_peak(self, known: _Known, start: int, stop: int) -> None:
        event = self._standing
        if event is None:
            return
        _worsen(self._worst, known, start, stop, below=self.treatment.below)
        worst = self._worst
        event.peak, event.threshold, event.peak_at = worst.value, worst.threshold, worst.at
        event.at_peak = worst.context

    def _carry(self, known: _Known, beyond: list[Rows], back: Rows) -> None:
        last = len(known.time) - 1
        for number, (stage, begun) in enumerate(zip(self.treatment.stages, beyond, strict=True)):
            mask = self._beyond_of(known.value[last:], known.threshold[last:], stage)
            run = _carried(known, self._beyond[number], begun, mask)
            if number == 0 and run is not None and self._standing is None:
                _worsen(run.worst, known, max(int(begun[last]), 0), last + 1, below=self.treatment.below)
            self._beyond[number] = run
        self._back = _carried(
            known, self._back, back, self._back_of(known.value[last:], known.threshold[last:])
        )
        self._last = int(known.time[last])

    def _lose(self, now: int) -> None:
        if self._last is None or now - self._last <= self._hold:
            return
        if self._standing is not None:
            self._standing.end, self._standing.end_seen = self._last, False
            self._standing = None
        self._beyond = [None] * len(self._beyond)
        self._back = None


def _began(mask: Truths, broken: Truths) -> Rows:
    """For each row the row at which its run began: the run before the block where that is -1."""
    fresh = np.empty(len(mask), np.bool_)
    fresh[:1] = broken[:1]
    fresh[1:] = ~mask[:-1] | broken[1:]
    begun: Rows = np.maximum.accumulate(np.where(fresh, np.arange(len(mask)), -1))
    return begun


def _carried(known: _Known, before: _Run | None, begun: Rows, mask: Truths) -> _Run | None:
    if not mask[0]:
        return None
    first = int(begun[-1])
    if first < 0 and before is not None:
        return before
    first = max(first, 0)
    return _Run(int(known.time[first]), known.at(first))


def _worsen(worst: _Worst, known: _Known, start: int, stop: int, *, below: bool) -> None:
    if stop <= start:
        return
    value, threshold = known.value[start:stop], known.threshold[start:stop]
    beyond = threshold - value if below else value - threshold
    row = int(np.argmax(beyond))
    if beyond[row] > worst.beyond:
        worst.beyond = float(beyond[row])
        worst.value, worst.threshold = float(value[row]), float(threshold[row])
        worst.at, worst.context = int(known.time[start + row]), known.at(start + row)
