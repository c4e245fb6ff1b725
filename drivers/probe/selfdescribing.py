"""A unit that describes itself: all that its models say, and what it may be in the plant."""

from __future__ import annotations

import math
import struct

from drivers.modbus.errors import ReadFaultError
from drivers.modbus.reading import UnitReader
from drivers.probe.report import ProbedDevice, ProbedModel, ProbedValue
from drivers.probe.suggestion import device_entry
from drivers.sunspec.definitions import definition
from drivers.sunspec.device import SunSpecDevice, unused_models
from drivers.sunspec.discovery import Model
from recordings.errors import SourceError

_LOOKS = 4
"""Rounds to read: the charge state settles the sign of a battery after a few."""


def described(reader: UnitReader, device: SunSpecDevice, source: str) -> ProbedDevice:
    """What a unit with a chain of models tells."""
    found = ProbedDevice(source, reader.unit)
    try:
        device.prepare(reader)
        for _ in range(_LOOKS):
            values = device.poll(reader).values
        found.readings = {channel: values.get(channel, math.nan) for channel in device.channels}
    except SourceError as error:
        # That a meter can't tell its role is said by the guess itself.
        if device.chain is None or device.guess.role is not None:
            found.notes.append(error.what)
    chain = device.chain
    if chain is None:
        return found
    found.models = [_model(reader, model, found) for model in chain.models]
    if chain.broken:
        found.notes.append("the chain of models has no end mark; what stands behind it wasn't seen")
    identity = device.identity
    found.identity = ", ".join(
        filter(None, (identity.maker, identity.model, identity.version, identity.serial))
    )
    found.role_guess, found.why = device.guess.role, device.guess.why
    found.most_registers = reader.most
    if device.signs == "assumed":
        found.notes.append(
            "the battery's sign is assumed: positive out of the battery; &sign=1 turns it round"
        )
    unused = unused_models(chain, device.role)
    if unused and device.role is not None:
        found.notes.append("not read in this role: model " + ", ".join(map(str, unused)))
    found.suggestion = device_entry(source, device.given_role or device.guess.role, device.guess)
    return found


def _model(reader: UnitReader, model: Model, found: ProbedDevice) -> ProbedModel:
    known = definition(model.number)
    name = known.name if known is not None else ""
    if known is None or not model.layout.points:
        return ProbedModel(model.number, name, model.address, model.length, ())
    try:
        data = reader.words("holding", model.address, model.length + 2)
    except ReadFaultError as error:
        found.notes.append(f"model {model.number} can't be read: {error.what}")
        return ProbedModel(model.number, name, model.address, model.length, ())
    values: list[ProbedValue] = []
    for point, value in model.layout.decoded(data):
        kind = point.definition.kind
        if kind in ("pad", "sunssf") or point.offset < 2:
            continue
        words = struct.unpack_from(f">{point.definition.words}H", data, 2 * point.offset)
        symbol = point.definition.symbols.get(int(value)) if isinstance(value, float) else None
        values.append(
            ProbedValue(
                point.name,
                "holding",
                model.address + point.offset,
                words,
                value,
                point.definition.unit,
                verdict="no reading" if value is None else "plausible",
                hint=symbol.lower().replace("_", " ") if symbol and kind.startswith("enum") else "",
            )
        )
    return ProbedModel(model.number, name, model.address, model.length, tuple(values))
