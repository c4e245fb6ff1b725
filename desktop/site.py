"""The site sheet: what the telemetry can't say about a plant. One TOML file per site, every key optional."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo

from pydantic import Field

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
    altitude_m: Annotated[Number, Field(ge=-500, le=9000)] = 0.0
    air_c: Annotated[Number, Field(ge=-60, le=60)] = 25.0
    price_per_unit: NotNegative | None = None


class Input(Section):
    limit_a: Positive | None = None


class Charger(Section):
    limit_a: Positive | None = None
    rated_w: Positive | None = None


class Inverter(Section):
    rated_w: Positive | None = None


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
    """Where a CSV keeps a channel, where the automatic reading gets it wrong."""

    column: str
    unit: str | None = None
    sign: Literal[1, -1] | None = None
    less: str | None = None


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
