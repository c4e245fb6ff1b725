"""Register images of SunSpec devices, made with pysunspec2 as the independent encoder."""

from __future__ import annotations

import struct
from collections.abc import Mapping, Sequence
from typing import Any

import sunspec2.device as pysunspec

MARKER = [0x5375, 0x6E53]
END = [0xFFFF, 0]


def model(
    number: int, points: Mapping[str, Any] | None = None, **groups: Sequence[Mapping[str, Any]]
) -> list[int]:
    """A model's registers with ID and L: raw values of points by name; all others say "not implemented"."""
    made = pysunspec.Model(number, data={**(points or {}), **groups})
    data = made.get_mb()
    return list(struct.unpack(f">{len(data) // 2}H", data))


def chain(*models: list[int]) -> list[int]:
    """A whole device from the marker to the end model."""
    return [*MARKER, *(word for each in models for word in each), *END]


def common(serial: str = "A-1") -> list[int]:
    return model(1, {"Mn": "Invented Maker", "Md": "Model One", "Vr": "1.0", "SN": serial, "DA": 1})


def inverter(number: int = 103, watts: int = 4523, dc_watts: int | None = None) -> list[int]:
    points = {"W": watts, "W_SF": 0, "Hz": 6001, "Hz_SF": -2, "St": 4, "DCW": dc_watts, "DCW_SF": 0}
    return model(number, points)


def meter(number: int = 203, **points: int) -> list[int]:
    values = {"W": 5200, "W_SF": 0, "Hz": 4987, "Hz_SF": -2, "V_SF": -1, "A_SF": -1, **points}
    return model(number, values)


def battery(amperes: int = -453, state: int = 4, heartbeat: int = 1) -> list[int]:
    """Model 802: 53.12 V, 87.3 %; -453 is -45.3 A, and the power goes with it."""
    points = {
        "WHRtg": 1024,
        "WHRtg_SF": 1,
        "SoC": 873,
        "SoC_SF": -1,
        "V": 5312,
        "V_SF": -2,
        "A": amperes,
        "A_SF": -1,
        "W": round(amperes * 5.312),
        "W_SF": 0,
        "ChaSt": state,
        "Hb": heartbeat,
    }
    return model(802, points)


def solar_ports(*watts: int | None, names: Sequence[str] = ()) -> list[int]:
    ports = [
        {"ID": index, "IDStr": names[index - 1] if names else f"input {index}", "DCW": each}
        for index, each in enumerate(watts, 1)
    ]
    return model(160, {"DCW_SF": 0, "N": len(ports)}, module=ports)


def five_models() -> list[int]:
    """Models 1, 103, 160, 203 and 802: a hybrid inverter."""
    return chain(common(), inverter(dc_watts=4700), solar_ports(1200, 800), meter(), battery())
