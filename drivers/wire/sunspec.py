"""The plant's parts as SunSpec devices: one unit id each, with the models that such a device has."""

from __future__ import annotations

import math
import struct
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from drivers.roles import Role
from drivers.wire.live import LivePlant, Reading
from drivers.wire.models import Kind, Model, Told, number, string
from recordings.channels import LEGS

BASE = 40000
"""Where the chain of models begins."""

_MAKER = "Simulated plant"
_RUNNING, _CONNECTED, _CONNECT, _STARTED, _LOCAL = 4, 3, 1, 3, 1
_DISCHARGING, _CHARGING, _HOLDING = 3, 4, 6
_LITHIUM, _LEAD = 4, 1
_METERS = {1: 201, 2: 202, 3: 203}
_INVERTERS = {1: 101, 2: 102, 3: 103}
_COARSE_FROM_W = 12_000.0
_NO_EVENTS = b"\0\0\0\0"


@dataclass(frozen=True, slots=True)
class Device:
    """One unit: what it is in the plant, and its models. `state` lays over the battery model what it does now."""

    unit: int
    role: Role
    models: Sequence[Model]
    state: Callable[[Reading], dict[int, bytes]] | None = None

    @property
    def channels(self) -> set[str]:
        """What it tells."""
        return {point.channel for model in self.models for point in model.told}

    def image(self, reading: Reading) -> bytes:
        """All its registers from BASE on."""
        more = self.state(reading) if self.state is not None else {}
        parts = [
            model.registers(reading.values, more if model.number == 802 else None) for model in self.models
        ]
        return b"SunS" + b"".join(parts) + b"\xff\xff\x00\x00"


def devices(plant: LivePlant) -> list[Device]:
    """The devices of a plant. A part without a meter isn't there; a channel without a model isn't told."""
    legs = plant.scenario.legs
    build = _Builder(plant)
    found = [
        Device(1, "converter", [build.common("converter", 1), build.converter(legs)]),
        Device(2, "generator", [build.common("generator", 2), build.meter(legs, "generator")]),
        Device(3, "load", [build.common("load", 3), build.meter(legs, "load")]),
        Device(4, "grid", [build.common("grid", 4), build.meter(legs, "grid")]),
        Device(5, "battery", [build.common("battery", 5), build.battery()], _battery_state),
        Device(6, "solar", [build.common("solar", 6), build.solar(legs)]),
    ]
    return [device for device in found if device.channels]


def left_over(plant: LivePlant) -> tuple[str, ...]:
    """The channels that no SunSpec model of these devices has a point for."""
    told = set().union(*(device.channels for device in devices(plant)))
    return tuple(name for name in plant.channels if name not in told)


class _Builder:
    """Models whose points tell what a plant's meters tell, in steps as fine as theirs."""

    def __init__(self, plant: LivePlant) -> None:
        self._plant = plant
        scenario = plant.scenario
        ratings = [scenario.inverter.rated_w, scenario.charger.rated_w]
        ratings += [part.rated_w for part in (scenario.generator, scenario.solar) if part is not None]
        self._coarse = max(ratings) > _COARSE_FROM_W

    def common(self, role: str, unit: int) -> Model:
        told = {
            2: string(_MAKER, 16),
            18: string(role, 16),
            42: string("1", 8),
            50: string(f"{unit:04d}", 16),
        }
        return Model(1, 66, fixed={34: string("", 8), **told, 66: number(unit)})

    def converter(self, legs: int) -> Model:
        told = self._told(
            [(14, 15, "int16", "converter_ac_power", -1), (31, 32, "int16", "converter_dc_power", -1)]
        )
        return self._inverter(legs, told)

    def _inverter(self, legs: int, told: _Scaled) -> Model:
        running = {38: number(_RUNNING), 40: _NO_EVENTS, 42: _NO_EVENTS}
        kinds = _kinds("uint16", "2-5 7-12 16 27 29 38-51") | _kinds("acc32", "24")
        return Model(_INVERTERS[legs], 50, kinds, running | told.scales, told.points)

    def meter(self, legs: int, part: str) -> Model:
        wanted: list[_Wanted] = [
            (18, 22, "int16", f"{part}_power", 1),
            (16, 17, "int16", f"{part}_frequency", 1),
        ]
        if legs == 1:
            wanted += [(at, 6, "int16", f"{part}_current", 1) for at in (2, 3)]
            wanted += [(at, 15, "int16", f"{part}_voltage", 1) for at in (7, 8)]
        for place, leg in enumerate(LEGS[:legs]):
            wanted += [(3 + place, 6, "int16", f"{part}_current_{leg}", 1)]
            wanted += [(8 + place, 15, "int16", f"{part}_voltage_{leg}", 1)]
        told = self._told(wanted)
        pairs = " ".join(str(at) for at in (*range(38, 54, 2), *range(55, 71, 2), *range(72, 104, 2)))
        return Model(
            _METERS[legs], 105, _kinds("acc32", pairs), {105: _NO_EVENTS, **told.scales}, told.points
        )

    def battery(self) -> Model:
        scenario = self._plant.scenario
        told = self._told(
            [
                (11, 56, "uint16", "battery_soc", 1),
                (34, 59, "uint16", "battery_voltage", 1),
                (44, 61, "int16", "battery_current", -1),
                (47, 63, "int16", "battery_power", -1),
            ]
        )
        lithium = scenario.battery.chemistry in ("lfp", "nmc")
        fixed = {
            3: number(round(scenario.battery.capacity_kwh * 100)),
            53: number(1),
            17: number(_LOCAL),
            20: number(0),
            21: number(_LITHIUM if lithium else _LEAD),
            22: number(_CONNECTED),
            26: 4 * _NO_EVENTS,
            50: number(_CONNECT),
            51: number(_STARTED),
        }
        kinds = _kinds("uint16", "2-25 34-43 45-46 48 50-51")
        return Model(802, 62, kinds, fixed | told.scales, told.points)

    def solar(self, legs: int) -> Model:
        if "solar_ac_power" in self._plant.channels:
            return self._inverter(legs, self._told([(14, 15, "int16", "solar_ac_power", 1)]))
        told = self._told([(21, 4, "uint16", "solar_power", 1)])
        fixed = {6: _NO_EVENTS, 8: number(1), 10: number(1), 11: string("array", 8), 27: number(_RUNNING)}
        kinds = _kinds("uint16", "9 19-20 24-25") | _kinds("acc32", "22")
        return Model(160, 28, kinds, {**fixed, 28: _NO_EVENTS, **told.scales}, told.points)

    def _told(self, wanted: Sequence[_Wanted]) -> _Scaled:
        """Points for those of the wanted (offset, offset of scale, kind, channel, sign) that a meter tells."""
        points, scales = [], {}
        for offset, scale_at, kind, channel, sign in wanted:
            if channel in self._plant.channels:
                exponent = self._exponent(channel)
                points.append(Told(offset, kind, channel, exponent, sign))
                scales[scale_at] = number(exponent)
        return _Scaled(points, scales)

    def _exponent(self, channel: str) -> int:
        step = Decimal(str(self._plant.quantum(channel))).normalize().as_tuple().exponent
        finest = max(-4, min(0, int(step)))
        return 1 if channel.endswith("_power") and self._coarse else finest


_Wanted = tuple[int, int, Kind, str, int]


@dataclass(frozen=True, slots=True)
class _Scaled:
    points: list[Told]
    scales: dict[int, bytes]


def _battery_state(reading: Reading) -> dict[int, bytes]:
    """What the battery does now, and a heartbeat."""
    values = reading.values
    into = values.get("battery_power", values.get("battery_current", math.nan))
    beat = {18: number(reading.number % 0xFFFF)}
    if math.isnan(into):
        return beat
    doing = _HOLDING if into == 0.0 else _CHARGING if into > 0.0 else _DISCHARGING
    return beat | {16: number(doing)}


def _kinds(kind: Kind, places: str) -> dict[int, Kind]:
    """`2-5 7` as offset → kind."""
    found: dict[int, Kind] = {}
    for place in places.split():
        first, _, last = place.partition("-")
        found |= dict.fromkeys(range(int(first), int(last or first) + 1), kind)
    return found


def registers(image: bytes) -> list[int]:
    """Bytes as 16-bit registers."""
    return list(struct.unpack(f">{len(image) // 2}H", image))
