"""What a device does in the plant, and which channels are its own."""

from __future__ import annotations

from typing import Literal

Role = Literal["generator", "grid", "load", "solar", "battery", "converter"]

ROLES: tuple[Role, ...] = ("generator", "grid", "load", "solar", "battery", "converter")

_OWN_PREFIXES: dict[Role, tuple[str, ...]] = {
    "generator": ("generator_", "fuel_"),
    "grid": ("grid_",),
    "load": ("load_", "dc_load_"),
    "solar": ("solar_",),
    "battery": ("battery_",),
    "converter": ("converter_", "input_", "charge_", "charger_"),
}


def owns(role: Role | None, channel: str) -> int:
    """How much a device's word on a channel counts: 2 its own role's, 1 without a role, 0 a by-product."""
    if role is None:
        return 1
    return 2 if channel.startswith(_OWN_PREFIXES[role]) else 0
