"""What a look at one address has found, as a person is asked about it: devices, readings, roles to choose from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from drivers.probe.report import ProbedDevice, Verdict, verdict_of
from drivers.roles import ROLES, Role
from drivers.sunspec.roles import BATTERIES, INVERTERS, METERS, SOLAR_PORTS
from recordings.channels import CHANNELS

_TELLING = ("W", "Hz", "PhV", "LNV", "PhVphA", "A")


@dataclass(frozen=True, slots=True)
class FoundReading:
    """One thing that a device measures.

    name     its channel; of a meter whose role nobody knows yet, the point's own name, and `channel` is ""
    value    in `unit`; NaN where there is none at present, such as a direction that isn't known yet
    verdict  whether a small plant can show it
    """

    name: str
    channel: str
    value: float
    unit: str
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class FoundDevice:
    """A device that answered.

    source   its own address with the unit id, by which the others are told from it
    map      the file of its register map as a whole path; "" where it describes itself, or nobody knows it
    models   the numbers of the SunSpec models by which it describes itself
    role     what it is in the plant, as the address says or as its models let guess; None where they can't tell
    why      how that is known, a clause
    roles    those that it can have
    problem  what keeps it from being used, one line; "" where it can be used as it is
    notes    what else is worth knowing, each one clause
    suggestion  TOML to start from: its entry in the site sheet, or a map to be filled in
    """

    source: str
    unit: int
    identity: str
    models: tuple[int, ...]
    map: str
    readings: tuple[FoundReading, ...]
    role: Role | None
    why: str
    roles: tuple[Role, ...]
    problem: str = ""
    notes: tuple[str, ...] = ()
    suggestion: str = ""


@dataclass(frozen=True, slots=True)
class Found:
    """What is behind one address.

    problem  why nothing was found, one line; "" where something was
    notes    what else is worth knowing, each one clause
    stopped  somebody asked to stop before the look was over
    """

    address: str
    devices: tuple[FoundDevice, ...] = ()
    problem: str = ""
    notes: tuple[str, ...] = ()
    stopped: bool = False


def found_device(probed: ProbedDevice, map_path: str, kind_of_map: str) -> FoundDevice:
    """A probed device as it is shown; `kind_of_map` is what it would need where it doesn't describe itself."""
    models = tuple(model.number for model in probed.models)
    problem = ""
    if not models and not map_path:
        problem = f"it doesn't describe itself, and needs {kind_of_map}"
    elif not probed.readings and probed.role_guess is not None:
        problem = "nothing that it tells can be used"
    elif not probed.readings:
        problem = f"what it is must be said: {probed.why}" if models else "nothing that it tells can be used"
    return FoundDevice(
        source=probed.source,
        unit=probed.unit,
        identity=probed.identity,
        models=models,
        map=map_path,
        readings=tuple(_readings(probed)),
        role=probed.role_guess,
        why=probed.why,
        roles=_roles(models),
        problem=problem,
        notes=tuple(probed.notes),
        suggestion=probed.suggestion,
    )


def _readings(probed: ProbedDevice) -> Iterator[FoundReading]:
    for channel, value in probed.readings.items():
        yield FoundReading(channel, channel, value, CHANNELS[channel].unit, verdict_of(channel, value))
    if probed.readings:
        return
    for model in probed.models:
        if model.number in (*METERS, *INVERTERS):
            for told in model.values:
                if told.name in _TELLING and isinstance(told.value, float):
                    yield FoundReading(told.name, "", told.value, told.unit, told.verdict)


def _roles(models: tuple[int, ...]) -> tuple[Role, ...]:
    """The roles that make sense of a device's models; all of them where it has none."""
    numbers = set(models)
    if numbers & set(METERS):
        return tuple(role for role in ROLES if role != "battery")
    if numbers & set(INVERTERS):
        return ("converter", "solar", "generator", "grid", "load")
    battery: tuple[Role, ...] = ("battery",) if numbers & set(BATTERIES) else ()
    solar: tuple[Role, ...] = ("solar",) if numbers & set(SOLAR_PORTS) else ()
    return (battery + solar) or ROLES
