"""A unit read by a register map: raw words, decoded values and plausibility side by side, to mend the map by."""

from __future__ import annotations

import math
import struct

from drivers.maps.decoding import Value
from drivers.maps.device import MapDevice
from drivers.modbus.planner import Span
from drivers.modbus.reading import Registers, UnitReader
from drivers.probe.report import ProbedDevice, ProbedValue, Verdict, verdict_of
from drivers.sunspec.values import text
from recordings.channels import CHANNELS

_ONES = {2: (0x8000, 0xFFFF, 0x7FFF), 4: (0x80000000, 0xFFFFFFFF, 0x7FFFFFFF)}


def checked(reader: UnitReader, device: MapDevice, source: str) -> ProbedDevice:
    """What the map makes of the unit's registers. ReadFaultError where nothing can be read."""
    found = ProbedDevice(source, reader.unit, role_guess=device.role, why="given by the map and the address")
    device.prepare(reader)
    texts = [(entry, Span(entry.table, entry.address, entry.words)) for entry in device.map.text]
    reader.want([*device.spans, *(span for _, span in texts)])
    # Twice: the first round may be spent on learning how much the device takes in one read.
    reader.poll()
    registers = reader.poll()
    if not registers.blocks and registers.faults:
        raise registers.faults[0]
    found.notes += [fault.what for fault in registers.faults]
    found.values = [_value(value, registers, reader) for value in device.values]
    for entry, span in texts:
        data = registers.bytes_of(span)
        said = None if data is None else text(data)
        verdict = verdict_of("", said) if data is not None else "not read"
        found.values.append(
            ProbedValue(entry.name, entry.table, entry.address, _words(data), said, verdict=verdict)
        )
        if said and entry.name == "serial number":
            found.identity = said
    device.prepare(reader)
    found.readings = {name: float(value) for name, value in device.poll(reader).values.items()}
    found.most_registers = reader.most
    if reader.most < device.map.device.max_registers:
        found.notes.append(f"it takes at most {reader.most} registers in one read: set max_registers to that")
    return found


def _value(value: Value, registers: Registers, reader: UnitReader) -> ProbedValue:
    entry, channel = value.entry, value.entry.channel
    data, computed = registers.bytes_of(value.span), value.computed(registers)
    verdict: Verdict = "not read" if computed is None else verdict_of(channel, computed)
    hint = ""
    if computed is None and value.span in reader.missing:
        hint = "the device has no such register"
    elif verdict == "implausible":
        hint = (
            f"{CHANNELS[channel].lowest:g} to {CHANNELS[channel].highest:g} can be; {_perhaps(value, data)}"
        )
    return ProbedValue(
        entry.channel,
        entry.table,
        entry.address,
        _words(data),
        None if computed is None or math.isnan(computed) else computed,
        CHANNELS[channel].unit,
        channel,
        verdict,
        hint,
    )


def _perhaps(value: Value, data: bytes | None) -> str:
    """What may be wrong with an entry whose value can't be."""
    raw = 0 if data is None else int.from_bytes(data, "big")
    if data is not None and raw in _ONES.get(len(data), ()):
        return f"perhaps missing = 0x{raw:X}"
    if value.span.words > 1:
        return "perhaps the other word_order, or another type"
    return "perhaps another scale or type"


def _words(data: bytes | None) -> tuple[int, ...]:
    return () if data is None else struct.unpack(f">{len(data) // 2}H", data)
