"""What a probe has found, as plain data."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from drivers.roles import Role
from recordings.channels import CHANNELS

Verdict = Literal["plausible", "implausible", "no reading", "not read"]


@dataclass(frozen=True, slots=True)
class ProbedValue:
    """One value: where it stands, its raw words, what it says.

    name     a point of a model, an entry of a map, or the register's address
    value    as decoded: a number in `unit`, a text, or None
    channel  what it becomes, "" for nothing
    """

    name: str
    table: str
    address: int
    words: tuple[int, ...]
    value: float | str | None
    unit: str = ""
    channel: str = ""
    verdict: Verdict = "plausible"
    hint: str = ""

    @property
    def raw(self) -> str:
        """The words as hexadecimal digits."""
        return " ".join(f"{word:04X}" for word in self.words)


@dataclass(frozen=True, slots=True)
class ProbedModel:
    """A SunSpec model of a device; `values` is empty where its definition isn't known."""

    number: int
    name: str
    address: int
    length: int
    values: tuple[ProbedValue, ...]


@dataclass(slots=True)
class ProbedDevice:
    """One unit that answers.

    source      its address, ready to be used
    map         the map that it was read by, as it was named; "" without one
    readings    channel → what it would be recorded as
    role_guess  None where its models can't tell; `why` says how it was guessed
    suggestion  TOML to start from: an entry for the site sheet, or a register map
    """

    source: str
    unit: int
    identity: str = ""
    models: list[ProbedModel] = field(default_factory=list)
    values: list[ProbedValue] = field(default_factory=list)
    readings: dict[str, float] = field(default_factory=dict)
    role_guess: Role | None = None
    why: str = ""
    most_registers: int = 0
    notes: list[str] = field(default_factory=list)
    suggestion: str = ""
    map: str = ""

    def as_json(self) -> dict[str, Any]:
        """As an object of JSON."""
        return {
            "source": self.source,
            "unit": self.unit,
            "identity": self.identity,
            "models": [model.number for model in self.models],
            "readings": _finite(self.readings),
            "role_guess": self.role_guess,
            "role_guess_why": self.why,
            "max_registers": self.most_registers or None,
            "values": [_value(value, "") for value in self.values]
            + [_value(value, f"{model.number}.") for model in self.models for value in model.values],
            "notes": self.notes,
            "suggestion": self.suggestion,
        }


@dataclass(slots=True)
class ProbeReport:
    """Everything that was found at an address."""

    devices: list[ProbedDevice] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def as_json(self) -> dict[str, Any]:
        """As an object of JSON."""
        return {"devices": [device.as_json() for device in self.devices], "notes": self.notes}


def verdict_of(channel: str, value: float | str | None) -> Verdict:
    """Whether a small plant can show this value of a channel ("" for no channel)."""
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return "no reading"
    if isinstance(value, str) or not channel:
        return "plausible"
    limits = CHANNELS[channel]
    return "plausible" if limits.lowest <= value <= limits.highest else "implausible"


def _finite(readings: Mapping[str, float]) -> dict[str, float | None]:
    return {name: None if math.isnan(value) else value for name, value in readings.items()}


def _value(value: ProbedValue, prefix: str) -> dict[str, Any]:
    number = value.value
    return {
        "name": prefix + value.name,
        "table": value.table,
        "address": value.address,
        "raw": value.raw,
        "value": None if isinstance(number, float) and not math.isfinite(number) else number,
        "unit": value.unit,
        "channel": value.channel or None,
        "verdict": value.verdict,
        "hint": value.hint or None,
    }
