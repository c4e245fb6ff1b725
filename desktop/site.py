"""The site sheet: what the telemetry can't say about a plant. One TOML file per site, every key optional."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Iterator
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, field_validator

from recordings.channels import CHANNELS, POWERS
from recordings.errors import SheetError

Chemistry = Literal["lfp", "nmc", "flooded", "agm", "gel"]
Fuel = Literal["diesel", "gasoline", "propane", "natural gas"]
Role = Literal["generator", "grid", "load", "solar", "battery", "converter"]


def _plain_number(value: Any) -> Any:
    if isinstance(value, (bool, str)):
        raise ValueError("a number without quotes")
    return value


Number = Annotated[float, BeforeValidator(_plain_number), Field(allow_inf_nan=False)]
Positive = Annotated[Number, Field(gt=0)]
NotNegative = Annotated[Number, Field(ge=0)]
Percent = Annotated[Number, Field(ge=0, le=100)]


class _Section(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Identity(_Section):
    name: str = ""
    timezone: str = "UTC"
    stamp: Literal["instant", "start", "end"] = "instant"

    @field_validator("timezone")
    @classmethod
    def _exists(cls, value: str) -> str:
        try:
            ZoneInfo(value)
        except Exception as error:
            raise ValueError('a time zone such as "Europe/Berlin"') from error
        return value


class Generator(_Section):
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


class Input(_Section):
    limit_a: Positive | None = None


class Charger(_Section):
    limit_a: Positive | None = None
    rated_w: Positive | None = None


class Inverter(_Section):
    rated_w: Positive | None = None


class Battery(_Section):
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


class Solar(_Section):
    rated_w: Positive | None = None
    coupling: Literal["dc", "ac"] = "dc"


class Meter(_Section):
    """One standard deviation of a meter = `percent` of the reading and `floor_w`, in quadrature."""

    percent: Percent = 2.0
    floor_w: NotNegative = 15.0


class ColumnRule(_Section):
    """Where a CSV keeps a channel, where the automatic reading gets it wrong."""

    column: str
    unit: str | None = None
    sign: Literal[1, -1] | None = None


class Device(_Section):
    source: str
    role: Role | None = None
    map: str | None = None


class Site(_Section):
    """A whole sheet. `Site()` is the sheet of a plant of which nothing is known."""

    site: Identity = Identity()
    generator: Generator = Generator()
    input: Input = Input()
    charger: Charger = Charger()
    inverter: Inverter = Inverter()
    battery: Battery = Battery()
    solar: Solar = Solar()
    meters: dict[str, Meter] = {}
    columns: dict[str, ColumnRule] = {}
    device: list[Device] = []

    @field_validator("meters", "columns")
    @classmethod
    def _channels(cls, value: dict[str, Any]) -> dict[str, Any]:
        for name in value:
            if name not in CHANNELS:
                raise ValueError(f"a channel's name; {_nearest(name, CHANNELS)}")
        return value

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

    @classmethod
    def load(cls, path: str | Path) -> Site:
        """Read a sheet. SheetError names file, key, value and what would be right."""
        where = str(path)
        try:
            text = Path(path).read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError, ValueError) as error:
            reason = error.strerror if isinstance(error, OSError) and error.strerror else "is not UTF-8 text"
            raise SheetError(f"can't read the site sheet: {reason}", where=where) from error
        return cls.parse(text, where)

    @classmethod
    def parse(cls, text: str, where: str = "site sheet") -> Site:
        """A sheet from its TOML text."""
        try:
            table = tomllib.loads(text)
        except (tomllib.TOMLDecodeError, RecursionError) as error:
            raise SheetError(f"is no valid TOML: {error}", where=where, mend="mend the line named") from error
        return cls.of(table, where)

    @classmethod
    def of(cls, table: dict[str, Any], where: str = "site sheet") -> Site:
        """A sheet from nested tables."""
        try:
            return cls.model_validate(table)
        except ValidationError as error:
            raise _as_sheet_error(error, where) from error


_ASSUMED_METER = Meter()

ASSUMED_POWER_METERS = POWERS
"""Channels to which the assumed meter class applies where the sheet has no entry."""


def _nearest(name: str, known: Any) -> str:
    close = difflib.get_close_matches(str(name), list(known), n=1, cutoff=0.5)
    return f"the nearest known is {close[0]}" if close else "known are " + ", ".join(list(known)[:12])


def _as_sheet_error(error: ValidationError, where: str) -> SheetError:
    first = error.errors()[0]
    key = ".".join(str(part) for part in first["loc"])
    others = error.error_count() - 1
    more = f" (and {others} more)" if others else ""
    if first["type"] == "extra_forbidden":
        *folder, name = first["loc"]
        return SheetError(
            f"unknown key {key}{more}", where=where, mend=_nearest(str(name), _keys(tuple(folder)))
        )
    expected = first["msg"].removeprefix("Value error, ")
    if first["type"] == "missing":
        return SheetError(f"{key} is missing{more}", where=where, mend=f"add {first['loc'][-1]}")
    expected = expected.removeprefix("Input should be ").removeprefix("a valid ")
    found = first["input"] if isinstance(first["input"], (str, int, float)) else type(first["input"]).__name__
    return SheetError(f"{key}{more}", where=where, expected=expected, found=found)


def _keys(folder: tuple[Any, ...]) -> list[str]:
    model: Any = Site
    for part in folder:
        if model is Site and part == "meters":
            return list(CHANNELS) if len(folder) == 1 else list(Meter.model_fields)
        if model is Site and part == "columns":
            return list(CHANNELS) if len(folder) == 1 else list(ColumnRule.model_fields)
        if model is Site and part == "device":
            return list(Device.model_fields)
        model = model.model_fields[part].annotation
    return list(model.model_fields)
