"""The site sheet: what the telemetry can't say about a plant. One TOML file per site, every key optional."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from functools import cached_property
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, AliasChoices, Field

from recordings.sheets import (
    ChannelName,
    NotNegative,
    Number,
    Percent,
    Positive,
    Section,
    Sheet,
    ZoneName,
)

Chemistry = Literal["lfp", "nmc", "flooded", "agm", "gel"]
Fuel = Literal["diesel", "gasoline", "propane", "natural gas"]
Role = Literal["generator", "grid", "load", "solar", "battery", "converter"]


def _not_nought(value: float) -> float:
    if value == 0:
        raise ValueError("a number but 0")
    return value


Hour = Annotated[Number, Field(ge=0, le=24)]


class Identity(Section):
    name: str = ""
    timezone: ZoneName = "UTC"
    stamp: Literal["instant", "start", "end"] = "instant"
    dates: Literal["day first", "month first"] | None = None


class Generator(Section):
    rated_w: Positive | None = None
    volts: Positive | None = None
    legs: Literal[1, 2, 3] = 1
    hz: Positive | None = None
    power_factor: Annotated[Number, Field(gt=0, le=1)] = 1.0
    fuel: Fuel | None = None
    fuel_half_load: Positive | None = None
    fuel_full_load: Positive | None = None
    tank: Positive | None = None
    store: NotNegative | None = None
    altitude_m: Annotated[Number, Field(ge=-500, le=9000)] = 0.0
    air_c: Annotated[Number, Field(ge=-60, le=60)] = 25.0
    price_per_unit: NotNegative | None = None


class Input(Section):
    """`circuit_a`: what wiring and breaker of the input circuit are rated for."""

    limit_a: Positive | None = None
    circuit_a: Positive | None = None


class Charger(Section):
    """`on_grid`: whether it is meant to charge from the grid."""

    limit_a: Positive | None = None
    rated_w: Positive | None = None
    on_grid: bool | None = None


class Inverter(Section):
    """`cut_off_soc`, `cut_off_v`: where it stops taking from the battery."""

    rated_w: Positive | None = None
    cut_off_soc: Percent | None = None
    cut_off_v: Positive | None = None


class Battery(Section):
    chemistry: Chemistry | None = None
    capacity_kwh: Positive | None = None
    nominal_v: Positive | None = None
    max_charge_a: Positive | None = None
    absorb_v: Positive | None = None
    float_v: Positive | None = None
    min_charge_c: Number | None = None
    max_charge_c: Number | None = None
    reserve_soc: Percent = 20.0
    target_soc: Percent = 80.0


class Solar(Section):
    rated_w: Positive | None = None
    coupling: Literal["dc", "ac"] = "dc"


class Meter(Section):
    """One standard deviation of a meter = `percent` of the reading and `floor_w`, in quadrature."""

    percent: Percent = 2.0
    floor_w: NotNegative = 15.0


class ColumnRule(Section):
    """Where a CSV keeps a channel, where the automatic reading gets it wrong.

    Readings are taken times `scale`, and then `offset` is added, in the channel's unit.
    """

    column: str
    unit: str | None = None
    sign: Literal[1, -1] | None = None
    less: str | None = None
    scale: Annotated[Number, AfterValidator(_not_nought)] | None = None
    offset: Number | None = None


class Refill(Section):
    """Fuel that was filled in. A time without offset is local; `full`: the tank was full afterwards."""

    at: datetime
    amount: NotNegative
    full: bool = False


class Appliance(Section):
    """Something that takes power at home, for an outlook without a recording.

    hours_per_day  how long each of `count` runs in a day; within the hours `since` until `until` where given,
                   which may lie across midnight. `from` is taken for `since`
    """

    name: str
    watts: Positive
    count: Positive = 1.0
    hours_per_day: Annotated[Number, Field(gt=0, le=24)] = 24.0
    since: Hour | None = Field(default=None, validation_alias=AliasChoices("since", "from"))
    until: Hour | None = None


class Device(Section):
    source: str
    role: Role | None = None
    map: str | None = None


class Site(Sheet):
    """A whole sheet. `Site()` is the sheet of a plant of which nothing is known."""

    KIND = "site sheet"

    site: Identity = Identity()
    generator: Generator = Generator()
    input: Input = Input()
    charger: Charger = Charger()
    inverter: Inverter = Inverter()
    battery: Battery = Battery()
    solar: Solar = Solar()
    meters: dict[ChannelName, Meter] = Field(default_factory=dict)
    columns: dict[ChannelName, ColumnRule] = Field(default_factory=dict)
    device: list[Device] = Field(default_factory=list)
    refill: list[Refill] = Field(default_factory=list)
    appliance: list[Appliance] = Field(default_factory=list)

    @cached_property
    def zone(self) -> ZoneInfo:
        """The time zone in which the site's clock times are shown and local stamps are read."""
        return ZoneInfo(self.site.timezone)

    def given(self, section: str, key: str = "") -> bool:
        """True where the sheet itself says this key (or anything in this section)."""
        if section not in self.model_fields_set:
            return False
        return not key or key in getattr(self, section).model_fields_set

    def meter(self, channel: str) -> Meter:
        """How good a channel's meter is; the assumed class where the sheet doesn't say."""
        return self.meters.get(channel, _ASSUMED_METER)

    def items(self) -> Iterator[tuple[str, str, Any, str]]:
        """(section, key, value, "given" or "assumed") of every key that has a value.

        Meters without an entry are listed once, under the key "others".
        """
        for section in ("site", "generator", "input", "charger", "inverter", "battery", "solar"):
            for key, value in getattr(self, section):
                if value is not None and value != "":
                    yield section, key, value, "given" if self.given(section, key) else "assumed"
        for name, meter in self.meters.items():
            for key, value in meter:
                yield f"meters.{name}", key, value, "given" if key in meter.model_fields_set else "assumed"
        for key, value in _ASSUMED_METER:
            yield "meters.others", key, value, "assumed"


_ASSUMED_METER = Meter()
