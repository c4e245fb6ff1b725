"""A device that is read by a register map."""

from __future__ import annotations

import math

from drivers.maps.decoding import Value
from drivers.maps.sheet import RegisterMap
from drivers.maps.types import WORDS, number, ordered
from drivers.modbus.planner import Span
from drivers.modbus.reading import Registers, UnitReader
from drivers.pulse import Pulse
from drivers.readings import Reading
from drivers.roles import Role
from drivers.source import in_order


class MapDevice:
    """Reads what its map says. The order of the readings and their channels never change."""

    def __init__(
        self, register_map: RegisterMap, interval_s: float = 1.0, role: Role | None = None, sign: int = 1
    ) -> None:
        self.map, self.role = register_map, role
        self.values = [Value.of(entry, register_map.device.word_order) for entry in register_map.read]
        self.channels = in_order(value.entry.channel for value in self.values)
        self._sign = sign
        self._pulse = Pulse(interval_s)

    @property
    def spans(self) -> list[Span]:
        """All registers that it needs."""
        spans = [span for value in self.values for span in value.spans]
        clock = self._clock_span()
        return [*spans, clock] if clock else spans

    def prepare(self, reader: UnitReader) -> None:
        """Plan the reads. Nothing is asked yet."""
        reader.most = min(reader.most, self.map.device.max_registers)
        reader.want(self.spans)

    def poll(self, reader: UnitReader, budget_s: float | None = None) -> Reading:
        """One round. What wasn't read is absent; ReadFaultError where nothing was."""
        registers = reader.poll(budget_s)
        if not registers.blocks and registers.faults:
            raise registers.faults[0]
        ticks = self._ticks(registers)
        faults = [fault.what for fault in registers.faults]
        now = registers.latest
        if self._pulse.stale(ticks, now):
            return Reading({}, {}, self._device_time(ticks), (*faults, "the device's clock stands still"))
        values: dict[str, float] = {}
        read_at: dict[str, float] = {}
        unread: set[str] = set()
        for value in self.values:
            channel, decoded = value.entry.channel, value.decoded(registers)
            if decoded is None:
                unread.add(channel)
                continue
            values[channel] = values.get(channel, 0.0) + decoded * self._sign_of(channel)
            when = registers.read_at((value.span,))
            read_at[channel] = min(read_at.get(channel, math.inf), now if when is None else when)
        for channel in unread & values.keys():
            # A sum of which a part is missing is no reading.
            values[channel] = math.nan
        return Reading(values, read_at, self._device_time(ticks), tuple(faults))

    def _sign_of(self, channel: str) -> int:
        return self._sign if channel.endswith(("_power", "_current")) or "_current_l" in channel else 1

    def _clock_span(self) -> Span | None:
        clock = self.map.clock
        return None if clock is None else Span(clock.table, clock.address, WORDS[clock.type])

    def _ticks(self, registers: Registers) -> float | None:
        clock, span = self.map.clock, self._clock_span()
        data = None if span is None else registers.bytes_of(span)
        if clock is None or data is None:
            return None
        return number(ordered(data, self.map.device.word_order), clock.type)

    def _device_time(self, ticks: float | None) -> int | None:
        clock = self.map.clock
        if clock is None or ticks is None or not 0 < ticks < 2**33:
            return None
        return clock.epoch_ns() + round(ticks) * 10**9
