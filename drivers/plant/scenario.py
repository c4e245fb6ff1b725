"""The scenario: an invented plant and what happens to it, as a small TOML file."""

from __future__ import annotations

from datetime import datetime, time
from typing import Literal, Self

from pydantic import Field, field_validator, model_validator

from drivers.plant.scenario_parts import (
    Auto,
    Battery,
    Charger,
    Cyclic,
    DcLoads,
    Generator,
    Grid,
    House,
    Input,
    Inverter,
    Random,
    Scheduled,
    Solar,
)
from recordings.channels import CHANNELS
from recordings.sheets import ChannelName, Number, Percent, Positive, Section, Sheet, ZoneName, nearest

Deed = Literal["start", "stop", "kill", "input_limit", "charge_limit", "charger", "grid"]
FaultKind = Literal["reversed", "scale", "offset", "stuck", "one_leg", "swapped", "missing", "absent"]


class Place(Section):
    """Where and when. `start` is local clock time."""

    name: str
    timezone: ZoneName = "UTC"
    start: datetime
    hours: Positive = Field(le=2400)
    latitude: Number = Field(default=50.0, ge=-90, le=90)
    longitude: Number = Field(default=0.0, ge=-180, le=180)

    @field_validator("start")
    @classmethod
    def _clock_time(cls, value: datetime) -> datetime:
        if value.tzinfo is not None:
            raise ValueError("a local date and time without offset")
        return value


class Log(Section):
    """What is recorded, and how often. Without channels: all that the plant has."""

    interval_s: Positive = Field(default=1.0, ge=0.1)
    channels: tuple[ChannelName, ...] = ()


class Order(Section):
    """Something done by hand at a local time of the nth day."""

    at: time
    day: int = Field(default=1, ge=1)
    do: Deed
    value: Number = 0.0


class MeterClass(Section):
    """How good a meter is. One standard deviation: `percent` of the reading and `floor`, in quadrature.

    skew_s   how long before the stamp the reading was taken
    quantum  the step in which it is told; 0 takes the channel's usual one
    """

    percent: Percent | None = None
    floor: Number | None = Field(default=None, ge=0)
    skew_s: Number = Field(default=0.0, ge=0)
    quantum: Number = Field(default=0.0, ge=0)


class Fault(Section):
    """A meter that lies. `value`: the factor of "scale", the channel's unit of "offset"; `other`: of "swapped".

    Without `since` and `until` from beginning to end.
    """

    channel: str
    kind: FaultKind
    value: Number | None = None
    other: str = ""
    since: time | None = None
    until: time | None = None
    day: int = Field(default=1, ge=1)

    @model_validator(mode="after")
    def _complete(self) -> Self:
        for name in (self.channel, self.other) if self.kind == "swapped" else (self.channel,):
            if name not in CHANNELS:
                raise ValueError(
                    f"a channel of the vocabulary instead of {name!r}, {nearest(name, CHANNELS)}"
                )
        if self.kind in ("scale", "offset") and self.value is None:
            raise ValueError(f"a value for the fault {self.kind}")
        if self.kind == "one_leg" and self.channel not in ("load_power", "generator_power"):
            raise ValueError("load_power or generator_power for the fault one_leg")
        return self


class Expect(Section):
    """The kinds of finding that a review must tell, and those that it may tell besides."""

    findings: tuple[str, ...] = ()
    may: tuple[str, ...] = ()


class Scenario(Sheet):
    """A whole scenario. Powers W, one section per part of the plant; a part left out isn't there."""

    KIND = "scenario"

    title: str = ""
    look_for: str = ""
    seed: int = 1
    place: Place
    log: Log = Log()
    generator: Generator | None = None
    grid: Grid | None = None
    solar: Solar | None = None
    input: Input = Input()
    charger: Charger = Charger()
    inverter: Inverter = Inverter()
    battery: Battery
    house: House = House()
    dc_loads: DcLoads | None = None
    cyclic: tuple[Cyclic, ...] = ()
    scheduled: tuple[Scheduled, ...] = ()
    random: tuple[Random, ...] = ()
    auto: Auto = Auto()
    order: tuple[Order, ...] = ()
    meters: dict[ChannelName, MeterClass] = Field(default_factory=dict)
    fault: tuple[Fault, ...] = ()
    expect: Expect = Expect()

    @property
    def legs(self) -> int:
        """How many legs the AC bus has."""
        return self.house.legs

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if len(self.house.base_w) not in (1, self.house.legs):
            raise ValueError(f"house.base_w with one number or {self.house.legs}")
        for appliance in (*self.cyclic, *self.scheduled, *self.random):
            if appliance.leg > self.house.legs:
                raise ValueError(f"a leg up to {self.house.legs} for {appliance.name}")
        return self
