"""A live source over one Modbus connection: one or several units, one row per round."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Iterator, Sequence
from typing import Protocol

from drivers.backoff import Backoff
from drivers.combining import Share, combined, row
from drivers.modbus.errors import ConnectionLostError, ReadFaultError, StoppedError
from drivers.modbus.link import Link
from drivers.modbus.reading import UnitReader
from drivers.readings import Reading
from drivers.roles import Role
from drivers.source import Frame, Phase, State, in_order
from drivers.timing import RisingClock, Ticker, Timing
from recordings.errors import SourceError

_FRESH_WITHIN = 1.9
"""A round may take so many intervals: then a reading that fails to come is told as missing within three."""

_SHORTEST_TIMEOUT_S = 0.25


class Device(Protocol):
    """Something behind one unit id that knows what its registers mean.

    role      what it does in the plant; None where that isn't known (yet)
    channels  what it gives, as far as that is known yet: at the latest after its first round
    """

    @property
    def role(self) -> Role | None: ...
    @property
    def channels(self) -> tuple[str, ...]: ...

    def prepare(self, reader: UnitReader) -> None:
        """Find out what is there and plan the reads. SourceError where it can't be understood."""
        ...

    def poll(self, reader: UnitReader, budget_s: float | None = None) -> Reading:
        """One round of readings. ReadFaultError where there are none."""
        ...


class Unit:
    """One device on the line, with what is known of it."""

    def __init__(self, reader: UnitReader, device: Device, backoff: Backoff) -> None:
        self.unit, self.reader = reader.unit, reader
        self.device, self.backoff = device, backoff
        self.prepared = False
        self.understood = False
        self.retry_at = 0.0
        self.fault = ""

    def share(self, reading: Reading | None) -> Share:
        """What it brings to this round's row."""
        channels = frozenset(self.device.channels)
        if reading is None:
            return Share(self.device.role, channels, {}, {})
        return Share(self.device.role, channels, reading.values, reading.read_at)


class ModbusSource:
    """Reads its units round by round; a unit that is silent costs the others one timeout now and then.

    interval_s  how often a round begins
    """

    def __init__(
        self,
        link: Link,
        units: Sequence[tuple[int, Device]],
        *,
        interval_s: float = 1.0,
        timeout_s: float | None = None,
        timing: Timing | None = None,
    ) -> None:
        self._link, self._timing = link, timing or Timing()
        self.interval_s = interval_s
        self._budget_s = max(_SHORTEST_TIMEOUT_S, _FRESH_WITHIN * interval_s)
        self._timeout_s = min(timeout_s or 2.0, self._budget_s)
        self._units = [
            Unit(self._reader(unit), device, Backoff(self._timing.chance)) for unit, device in units
        ]
        self._stopped = threading.Event()
        self._came = False
        self._clock = RisingClock(self._timing)
        self._state = State("connecting", self._timing.utc())

    def _reader(self, unit: int) -> UnitReader:
        return UnitReader(self._link, unit, timeout_s=self._timeout_s, now=self._timing.monotonic)

    @property
    def name(self) -> str:
        """The address."""
        return self._link.name

    @property
    def state(self) -> State:
        """What it is doing now."""
        return self._state

    @property
    def channels(self) -> tuple[str, ...]:
        """What its units give: by their maps from the beginning, else once they have been read."""
        return in_order(channel for unit in self._units for channel in unit.device.channels)

    @property
    def role(self) -> Role | None:
        """What it is in the plant, where all its units are the same."""
        roles = {unit.device.role for unit in self._units}
        return roles.pop() if len(roles) == 1 else None

    def stop(self) -> None:
        """Make `frames` end at once."""
        self._stopped.set()
        self._link.stop()

    def frames(self) -> Iterator[Frame]:
        """Rows until it is stopped. SourceError where a device can't be understood."""
        backoff = Backoff(self._timing.chance)
        reason = "stopped"
        try:
            while not self._stopped.is_set():
                try:
                    self._enter("connecting")
                    self._link.open(self._timeout_s)
                    yield from self._rounds(backoff)
                except StoppedError:
                    break
                except ReadFaultError as error:
                    self._link.close()
                    yield from self._missing()
                    self._wait(backoff.next(), error.what)
        except SourceError as error:
            reason = error.what
            raise
        finally:
            self._link.close()
            self._enter("ended", reason)

    def _rounds(self, backoff: Backoff) -> Iterator[Frame]:
        for unit in self._units:
            # Whatever was on the line may have been exchanged while it was away.
            unit.prepared, unit.retry_at = False, 0.0
        ticker = Ticker(self.interval_s, self._timing)
        while ticker.wait(self._stopped):
            readings = self._round()
            backoff.reset()
            self._enter("reading", self._told())
            frame = self._row(readings)
            if frame.columns:
                self._came = True
                yield frame

    def _round(self) -> dict[Unit, Reading]:
        """What came, unit by unit. The last fault where nothing did, since then the line itself is in doubt."""
        readings: dict[Unit, Reading] = {}
        last: ReadFaultError | None = None
        # All are looked at before any is read: what one is may show what another is.
        for unit in self._due():
            last = self._tried(unit, self._prepare) or last
        # Units that failed last time come last, so that waiting for them makes nobody else late.
        for unit in sorted(self._due(), key=lambda each: bool(each.fault)):
            last = self._tried(unit, lambda each: self._poll(each, readings)) or last
        if not readings:
            raise last or ConnectionLostError("no unit answers", where=self.name)
        return readings

    def _due(self) -> list[Unit]:
        now = self._timing.monotonic()
        return [unit for unit in self._units if unit.retry_at <= now]

    def _tried(self, unit: Unit, work: Callable[[Unit], None]) -> ReadFaultError | None:
        """The fault of one unit, which is then left alone for a while; faults of the line are raised."""
        try:
            work(unit)
        except ReadFaultError as error:
            if isinstance(error, ConnectionLostError) or not self._link.is_open:
                raise
            unit.fault = error.what
            unit.retry_at = self._timing.monotonic() + unit.backoff.next()
            return error
        return None

    def _prepare(self, unit: Unit) -> None:
        if unit.prepared:
            return
        try:
            unit.device.prepare(unit.reader)
        except ReadFaultError:
            raise
        except SourceError as error:
            if not unit.understood:
                raise
            # It was understood before: it is starting up, and will be again.
            raise ConnectionLostError(error.what, where=error.where) from error
        unit.prepared = unit.understood = True

    def _poll(self, unit: Unit, readings: dict[Unit, Reading]) -> None:
        readings[unit] = unit.device.poll(unit.reader, self._budget_s)
        unit.fault = "; ".join(readings[unit].faults)
        unit.backoff.reset()

    def _row(self, readings: dict[Unit, Reading]) -> Frame:
        shares = [unit.share(readings.get(unit)) for unit in self._units]
        values, read_at = combined(shares)
        now = self._timing.monotonic()
        # The row stands for the instant of its newest reading; the others are so much older.
        newest = max(read_at.values(), default=now)
        stamp = self._clock.stamp(newest - now)
        times = [reading.device_time for reading in readings.values() if reading.device_time is not None]
        ages = {channel: newest - when for channel, when in read_at.items()}
        return row(stamp, values, ages, times[0] if times else None)

    def _missing(self) -> Iterator[Frame]:
        """One row that says that everything is missing, once there was something."""
        if self._came and not self._stopped.is_set():
            yield row(self._clock.stamp(), dict.fromkeys(self.channels, math.nan), {})

    def _told(self) -> str:
        faults = [f"unit {unit.unit}: {unit.fault}" for unit in self._units if unit.fault]
        return "; ".join(faults)

    def _wait(self, seconds: float, reason: str) -> None:
        self._enter("waiting", reason, self._timing.utc() + round(seconds * 1e9))
        self._timing.wait(self._stopped, seconds)

    def _enter(self, phase: Phase, reason: str = "", retry_at: int | None = None) -> None:
        if (self._state.phase, self._state.reason) != (phase, reason) or retry_at is not None:
            self._state = State(phase, self._timing.utc(), reason, retry_at)
