"""The register map: a TOML file that a person writes, read strictly."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from drivers.maps.types import WORDS, RegisterType
from drivers.modbus.planner import MOST_REGISTERS
from recordings.channels import CHANNELS
from recordings.sheets import ChannelName, Number, Positive, Section, Sheet
from recordings.tables.units import fits, fitting, unit_of

RegisterAddress = Annotated[int, Field(ge=0, le=65535, strict=True)]
TableName = Literal["holding", "input"]
WordOrder = Literal["big", "little"]

_ADDABLE = ("W", "A")


class DeviceSection(Section):
    """What holds for the whole device.

    word_order     "big": the high word of a number comes first; "little": the low word
    max_registers  the most registers that it takes in one read
    """

    unit: Annotated[int, Field(ge=0, le=255, strict=True)] | None = None
    word_order: WordOrder = "big"
    max_registers: Annotated[int, Field(ge=1, le=MOST_REGISTERS, strict=True)] = MOST_REGISTERS
    interval_s: Positive | None = None


class ReadEntry(Section):
    """One value and the channel that it becomes.

    value = (raw · scale · 10^exponent + offset) in `unit`, turned into the channel's unit, times `sign`.
    The exponent stands in the register `scale_address` (i16, same table), where that is given. `missing` are
    the raw patterns by which the device says that it has no reading.
    """

    channel: ChannelName
    address: RegisterAddress
    table: TableName = "holding"
    type: RegisterType = "u16"
    bit: Annotated[int, Field(ge=0, le=15, strict=True)] | None = None
    scale: Number = 1.0
    scale_address: RegisterAddress | None = None
    offset: Number = 0.0
    unit: str | None = None
    sign: Literal[1, -1] = 1
    missing: Annotated[int, Field(ge=0)] | list[Annotated[int, Field(ge=0)]] | None = None
    word_order: WordOrder | None = None

    @model_validator(mode="after")
    def _is_whole(self) -> Self:
        if (self.type == "bit") != (self.bit is not None):
            raise ValueError('type = "bit" and a bit from 0 to 15, both or neither')
        if self.address + WORDS[self.type] > 65536:
            raise ValueError("an address at which the whole value has room below 65536")
        if self.scale == 0:
            raise ValueError("a scale other than 0")
        wanted = CHANNELS[self.channel].unit
        if self.unit is not None:
            unit = unit_of(self.unit)
            if unit is None or not wanted or not fits(unit, wanted):
                one_of = ", ".join(fitting(wanted)) or "none"
                raise ValueError(f"a unit that {self.channel} can be read from: {one_of}")
        return self

    @property
    def patterns(self) -> tuple[int, ...]:
        """The raw patterns that mean "no reading"."""
        if self.missing is None:
            return ()
        return tuple(self.missing) if isinstance(self.missing, list) else (self.missing,)


class TextEntry(Section):
    """Text in registers (two characters in each), such as a serial number; shown by the probe, never recorded."""

    name: str
    address: RegisterAddress
    words: Annotated[int, Field(ge=1, le=64, strict=True)]
    table: TableName = "holding"


class ClockSection(Section):
    """The device's own clock: whole seconds since an epoch. It shows whether the device still measures."""

    address: RegisterAddress
    table: TableName = "holding"
    type: Literal["u32", "u64"] = "u32"
    epoch: Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")] = "1970-01-01"

    @model_validator(mode="after")
    def _is_a_day(self) -> Self:
        try:
            self.epoch_ns()
        except ValueError as error:
            raise ValueError('an epoch such as "2000-01-01"') from error
        return self

    def epoch_ns(self) -> int:
        """The epoch, UTC nanoseconds."""
        return math.floor(datetime.fromisoformat(self.epoch).replace(tzinfo=UTC).timestamp()) * 10**9


class RegisterMap(Sheet):
    """A whole register map."""

    KIND = "register map"

    device: DeviceSection = DeviceSection()
    clock: ClockSection | None = None
    read: Annotated[list[ReadEntry], Field(min_length=1)]
    text: list[TextEntry] = Field(default_factory=list)

    @model_validator(mode="after")
    def _each_channel_once(self) -> Self:
        seen: set[str] = set()
        for entry in self.read:
            if entry.channel in seen and CHANNELS[entry.channel].unit not in _ADDABLE:
                raise ValueError(f"{entry.channel} once; only powers and currents can be added up")
            seen.add(entry.channel)
        return self
