"""What a device may be in the plant, guessed from its models; a guess is always called one."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from drivers.roles import Role

INVERTERS = (701, 111, 112, 113, 101, 102, 103)
METERS = (211, 212, 213, 214, 201, 202, 203, 204)
BATTERIES = (802, 803, 713)
SOLAR_PORTS = (160, 714)


@dataclass(frozen=True, slots=True)
class RoleGuess:
    """A role, or None where the models can't tell; and why, as a clause."""

    role: Role | None
    why: str


def guess_roles(devices: Sequence[Collection[int]]) -> list[RoleGuess]:
    """A guess for each device of a plant, from the numbers of the models of all of them."""
    return [
        _guess(models, [other for at, other in enumerate(devices) if at != index])
        for index, models in enumerate(devices)
    ]


def _guess(models: Collection[int], others: Sequence[Collection[int]]) -> RoleGuess:
    inverter, battery = _any(models, INVERTERS), _any(models, BATTERIES)
    ports, meter = _any(models, SOLAR_PORTS), _any(models, METERS)
    if inverter and battery:
        return RoleGuess("converter", "an inverter with a battery model beside it")
    if inverter and ports:
        return RoleGuess("solar", "an inverter with solar inputs and no battery model")
    if inverter:
        return _inverter_alone(others)
    if battery:
        return RoleGuess("battery", "a battery model and no inverter")
    if ports:
        return RoleGuess("solar", "solar inputs and no inverter")
    if meter:
        return RoleGuess(None, "a meter can't tell what it measures")
    return RoleGuess(None, "none of its models tells a reading")


def _inverter_alone(others: Sequence[Collection[int]]) -> RoleGuess:
    battery = any(_any(other, BATTERIES) for other in others)
    converter = any(_any(other, BATTERIES) and _any(other, INVERTERS) for other in others)
    rival = any(_any(other, INVERTERS) and not _any(other, SOLAR_PORTS) for other in others)
    if not battery or converter:
        return RoleGuess("solar", "an inverter, and no battery that it could charge")
    if rival:
        return RoleGuess(None, "one of several inverters, and any of them may charge the battery")
    return RoleGuess("converter", "an inverter, and a battery elsewhere in the plant")


def _any(models: Collection[int], wanted: Sequence[int]) -> bool:
    return any(model in models for model in wanted)
