"""One side of a comparison: what is asked of a review, of all its charge sessions or of one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from desktop.charging.fuel.running import spans
from desktop.charging.sessions import Session
from desktop.comparison.currents import input_currents
from desktop.flow.streams import INDEX, SINKS, SOURCES, STREAMS
from desktop.flow.trace import trace
from desktop.review import Review
from recordings.errors import UsageError

Floats = NDArray[np.float64]

MINUTE_NS = 60_000_000_000
_NOISE = 1e-3


@dataclass(frozen=True)
class Side:
    """A recording, or one of its charge sessions.

    session  the number of the one session that counts, from 1; None for all of them
    """

    review: Review
    session: int | None = None

    def __post_init__(self) -> None:
        count = len(self.review.sessions)
        if self.session is not None and not 1 <= self.session <= count:
            raise UsageError(
                "there is no such charge session",
                where=self.name,
                expected=f"1 to {count}" if count else "a recording with charge sessions",
                found=self.session,
            )

    @property
    def name(self) -> str:
        """The recording's name."""
        return self.review.recording.provenance.name

    @cached_property
    def numbers(self) -> tuple[int, ...]:
        """Which sessions count, from 0."""
        return tuple(range(len(self.review.sessions))) if self.session is None else (self.session - 1,)

    @cached_property
    def sessions(self) -> tuple[Session, ...]:
        """The sessions that count."""
        return tuple(self.review.sessions[number] for number in self.numbers)

    @cached_property
    def time(self) -> NDArray[np.int64]:
        """(m,) the start of each minute in which one of these sessions ran, UTC nanoseconds."""
        return self.review.minutes.time[self._rows]

    @cached_property
    def seconds(self) -> Floats:
        """(m,) how long a session ran in each of them."""
        return self._lasted[self._rows]

    @cached_property
    def soc(self) -> Floats:
        """(m,) the state of charge, %."""
        return self.review.minutes.channel("battery_soc")[self._rows]

    @cached_property
    def charged(self) -> tuple[float, float]:
        """Lowest and highest state of charge that the sessions went through; NaN where not known."""
        ends = [each for one in self.sessions for each in (one.soc_start, one.soc_end)]
        known = [each for each in ends if math.isfinite(each)]
        return (min(known), max(known)) if known else (math.nan, math.nan)

    def series(self, name: str) -> Floats:
        """(m,) mean power of a stream, W."""
        power: Floats = self._streams[INDEX[name]]
        return power

    def doubt(self, name: str) -> float:
        """What the meters may get wrong of a stream's mean while the generator ran, W; NaN where not known."""
        sd = self.review.minutes.sd(name)[self._rows]
        known = np.isfinite(sd)
        if known.any():
            return float(np.average(sd[known], weights=self.seconds[known]))
        mean = self.mean(name)
        meter = self.review.site.meter(f"{name}_power")
        return math.hypot(meter.percent / 100 * mean, meter.floor_w)

    def mean(self, name: str) -> float:
        """Mean power of a stream while the generator ran, W; NaN where not known."""
        power = self.series(name)
        known = np.isfinite(power)
        return float(np.average(power[known], weights=self.seconds[known])) if known.any() else math.nan

    @cached_property
    def traced(self) -> Floats:
        """(5, 5, m) from SOURCES to SINKS, W."""
        return trace(self._streams)

    def way(self, source: str, *sinks: str) -> Floats:
        """(m,) power from a source to sinks, W."""
        row = self.traced[SOURCES.index(source)]
        power: Floats = row[[SINKS.index(sink) for sink in sinks]].sum(axis=0)
        return power

    @cached_property
    def peaks(self) -> Floats:
        """Highest input current of each minute of running, A."""
        currents, time = input_currents(self.review), self.review.recording.time
        found = []
        for one in self.sessions:
            start, stop = np.searchsorted(time, [one.start, one.end + 1])
            minute = time[start:stop] // MINUTE_NS
            firsts = np.flatnonzero(np.diff(minute, prepend=-1))
            found.append(np.fmax.reduceat(currents[start:stop], firsts))
        every: Floats = np.concatenate(found) if found else np.empty(0)
        known: Floats = every[np.isfinite(every)]
        return known

    def setting(self, channel: str) -> float:
        """What a device reported of a setting, the usual value while the generator ran; NaN where it didn't."""
        if channel not in self.review.recording:
            return math.nan
        column, time = self.review.recording.column(channel), self.review.recording.time
        rows = [np.searchsorted(time, [one.start, one.end + 1]) for one in self.sessions]
        read = np.concatenate([column[start:stop] for start, stop in rows]) if rows else column
        known = read[np.isfinite(read)]
        # The median of an even number of readings may lie between two settings that were never set.
        return float(np.sort(known)[len(known) // 2]) if len(known) else math.nan

    def step(self, *channels: str) -> float:
        """The smallest step in which any of these channels is told; 0 where none is recorded."""
        steps = []
        for name in channels:
            if name in self.review.recording:
                moves = np.abs(np.diff(self.review.recording.column(name)))
                moves = moves[moves > _NOISE]
                steps += [float(moves.min())] if moves.size else []
        return min(steps, default=0.0)

    @cached_property
    def _streams(self) -> Floats:
        minutes = self.review.minutes
        means = np.stack([minutes.stream(name) for name in STREAMS])
        read = np.stack([minutes.measured(name) for name in STREAMS])
        return np.where(np.isnan(means), read, means)[:, self._rows]

    @cached_property
    def _lasted(self) -> Floats:
        """(all minutes,) s of each in which a session ran."""
        minutes = self.review.minutes
        begin = minutes.time
        end = begin + (1e9 * spans(begin, minutes.width_s, self.review.learned)).astype(np.int64)
        lasted = np.zeros(len(begin))
        for one in self.sessions:
            lasted += np.maximum(np.minimum(end, one.end) - np.maximum(begin, one.start), 0) / 1e9
        return lasted

    @cached_property
    def _rows(self) -> NDArray[np.int64]:
        return np.flatnonzero(self._lasted)
