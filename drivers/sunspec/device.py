"""A device that describes itself: found, understood, and read round by round."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import UTC, datetime

from drivers.maps.decoding import within
from drivers.modbus.planner import Span
from drivers.modbus.reading import Registers, UnitReader
from drivers.pulse import Pulse
from drivers.readings import Reading
from drivers.roles import Role
from drivers.source import in_order
from drivers.sunspec.channels import Ports, ac_model, recipes
from drivers.sunspec.charge_state import ChargeSign, Flow
from drivers.sunspec.discovery import Chain, Identity, Model, discover, identify
from drivers.sunspec.quantities import Quantity
from drivers.sunspec.recipes import Recipe
from drivers.sunspec.roles import INVERTERS, METERS, RoleGuess, guess_roles
from drivers.sunspec.values import text
from recordings.errors import SourceError

_DISCHARGE_IS_POSITIVE = -1
_EPOCH_NS = round(datetime(2000, 1, 1, tzinfo=UTC).timestamp()) * 10**9


class Neighbourhood:
    """The models of all devices of one plant, as far as they are known."""

    def __init__(self) -> None:
        self._models: dict[int, frozenset[int]] = {}
        self.version = 0

    def join(self, device: SunSpecDevice, chain: Chain) -> None:
        """Tell what a device is made of."""
        models = frozenset(model.number for model in chain.models)
        if self._models.get(id(device)) != models:
            self._models[id(device)] = models
            self.version += 1

    def guess(self, device: SunSpecDevice) -> RoleGuess:
        """What a device may be among the others."""
        # Devices on other lines join from other threads meanwhile.
        models = dict(self._models)
        return dict(zip(models, guess_roles(list(models.values())), strict=True))[id(device)]


class SunSpecDevice:
    """Reads the models of one unit as channels.

    given_role  what the user says that it is; None to guess
    given_sign  1 or -1 as the user says; None for what the models or the charge state say
    """

    def __init__(
        self,
        interval_s: float = 1.0,
        role: Role | None = None,
        sign: int | None = None,
        neighbourhood: Neighbourhood | None = None,
    ) -> None:
        self.given_role, self.given_sign = role, sign
        self.chain: Chain | None = None
        self.identity = Identity()
        self._interval_s = interval_s
        self._neighbourhood = neighbourhood or Neighbourhood()
        self._role: Role | None = role
        self._known_neighbours = 0
        self._recipes: list[Recipe] = []
        self._ports: Ports = {}
        self._pulses: dict[int, tuple[Quantity, Pulse]] = {}
        self._charge_state: Quantity | None = None
        self._clock: Quantity | None = None
        self._charge_sign = ChargeSign(_DISCHARGE_IS_POSITIVE)
        self._told: set[str] = set()

    @property
    def role(self) -> Role | None:
        """What it is in the plant, as given or as guessed."""
        return self._role

    @property
    def channels(self) -> tuple[str, ...]:
        """What it has told in its role so far. A number whose sign isn't settled yet is told, and is missing."""
        return in_order(recipe.channel for recipe in self._recipes if recipe.channel in self._told)

    @property
    def guess(self) -> RoleGuess:
        """What its models say that it may be."""
        return self._neighbourhood.guess(self)

    @property
    def signs(self) -> str:
        """How the sign of a battery is known: "given", "charge state" or "assumed"; "" where none is open."""
        if not any(recipe.open for recipe in self._recipes):
            return ""
        if self.given_sign is not None:
            return "given"
        return "charge state" if self._charge_sign.settled else "assumed"

    def prepare(self, reader: UnitReader) -> None:
        """Walk its chain of models and plan the reads.

        SourceError where it has no chain, or where nobody can tell what it measures.
        """
        where = f"{reader.link.name} unit {reader.unit}"
        chain = discover(reader)
        if chain is None:
            raise SourceError(
                "the device doesn't describe itself: no SunSpec marker at 40000, 50000 or 0",
                where=where,
                mend="give a register map with &map=FILE.toml; headrace probe helps to write one",
            )
        # Whatever was behind this unit id may have been exchanged, even for one of the same models.
        identity = identify(reader, chain)
        if (chain, identity) != (self.chain, self.identity):
            self.chain, self.identity = chain, identity
            self._neighbourhood.join(self, chain)
            self._ports = _ports(reader, chain)
            self._watch(chain)
            self._recipes, self._told = [], set()
            self._charge_sign = ChargeSign(_DISCHARGE_IS_POSITIVE, (reader.link.name, reader.unit, identity))
        self._choose(chain, where)
        reader.want(self._spans())

    def poll(self, reader: UnitReader, budget_s: float | None = None) -> Reading:
        """One round. What wasn't read is absent; ReadFaultError where nothing was."""
        self._rechoose(reader)
        registers = reader.poll(budget_s)
        if not registers.blocks and registers.faults:
            raise registers.faults[0]
        now = registers.latest
        faults = [fault.what for fault in registers.faults]
        stale = {
            address
            for address, (quantity, pulse) in self._pulses.items()
            if pulse.stale(quantity.value(registers), now)
        }
        if stale:
            faults.append("the device's own clock stands still")
        sign = self._open_sign(registers)
        values: dict[str, float] = {}
        read_at: dict[str, float] = {}
        for recipe in self._recipes:
            when = registers.read_at(recipe.readings)
            if recipe.beside in stale or when is None:
                continue
            value = within(recipe.channel, recipe.value(registers))
            if not math.isnan(value):
                self._told.add(recipe.channel)
            if recipe.open:
                value *= sign
            elif recipe.turned and self.given_sign is not None:
                value *= self.given_sign
            values[recipe.channel] = value
            read_at[recipe.channel] = when
        return Reading(values, read_at, self._device_time(registers), tuple(faults))

    def _choose(self, chain: Chain, where: str) -> None:
        self._known_neighbours = self._neighbourhood.version
        guess = self.guess
        role = self.given_role or guess.role
        found = recipes(chain, role, self._ports)
        if not found and role is None and chain.all_of(*METERS, *INVERTERS):
            which = "generator, grid or load" if chain.all_of(*METERS) else "converter or solar"
            raise SourceError(
                f"what this device is can't be told from its models: {guess.why}",
                where=where,
                mend=f"add &role={which} to its address",
            )
        if not found:
            raise SourceError(
                "none of the device's models tells a reading",
                where=where,
                found=", ".join(str(model.number) for model in chain.models),
                mend="check the unit id, and the role if one is given",
            )
        self._role, self._recipes = role, found

    def _rechoose(self, reader: UnitReader) -> None:
        """Another device of the plant has been found meanwhile, and may change the guess."""
        if self.given_role is not None or self._neighbourhood.version == self._known_neighbours:
            return
        self._known_neighbours = self._neighbourhood.version
        if self.chain is not None and self.guess.role not in (None, self._role):
            self._choose(self.chain, f"{reader.link.name} unit {reader.unit}")
            reader.want(self._spans())

    def _watch(self, chain: Chain) -> None:
        self._pulses, self._charge_state, self._clock = {}, None, None
        for model in chain.all_of(802):
            self._charge_state = self._charge_state or _quantity(model, "ChaSt")
            heartbeat = _quantity(model, "Hb")
            if heartbeat is not None:
                self._pulses[model.address] = heartbeat, Pulse(self._interval_s)
        for model in chain.all_of(160):
            clock = _quantity(model, "Tms", "module", 1)
            if clock is not None:
                self._clock = self._clock or clock
                self._pulses[model.address] = clock, Pulse(self._interval_s)

    def _spans(self) -> set[Span]:
        quantities = [quantity for quantity, _ in self._pulses.values()]
        quantities += [quantity for quantity in (self._charge_state, self._clock) if quantity is not None]
        spans = {span for quantity in quantities for span in quantity.spans}
        return spans.union(*(recipe.spans for recipe in self._recipes))

    def _open_sign(self, registers: Registers) -> float:
        """What turns the battery's own count round, or NaN while that isn't known."""
        if self.given_sign is not None:
            return float(self.given_sign)
        counted = {recipe.channel: recipe.value(registers) for recipe in self._recipes if recipe.open}
        flow = Flow(counted.get("battery_current", math.nan), counted.get("battery_power", math.nan))
        state = None if self._charge_state is None else self._charge_state.value(registers)
        self._charge_sign.hear(state, flow)
        return self._charge_sign.sign(flow)

    def _device_time(self, registers: Registers) -> int | None:
        seconds = None if self._clock is None else self._clock.value(registers)
        return None if not seconds else _EPOCH_NS + round(seconds) * 10**9


def readings_by_name(model: Model, registers: bytes) -> Mapping[str, float | str]:
    """Everything that a model tells, by the name of its points, scaled."""
    return {point.name: value for point, value in model.layout.decoded(registers) if value is not None}


def unused_models(chain: Chain, role: Role | None) -> list[int]:
    """Inverter and meter models that a device has beside the one that its role reads."""
    used = ac_model(chain, role)
    return [model.number for model in chain.all_of(*INVERTERS, *METERS) if model != used]


def _quantity(model: Model, name: str, group: str = "", index: int = 0) -> Quantity | None:
    point = model.layout.point(name, group, index)
    return None if point is None else Quantity.of(model, point)


def _ports(reader: UnitReader, chain: Chain) -> Ports:
    """What kind of port each DC input is, where the device tells."""
    found: Ports = {}
    for model in chain.all_of(160, 714):
        group, name = ("module", "IDStr") if model.number == 160 else ("Prt", "PrtTyp")
        for index in range(1, model.layout.repetitions(group) + 1):
            point = model.layout.point(name, group, index)
            if point is None:
                continue
            data = reader.words("holding", model.address + point.offset, point.definition.words)
            if name == "IDStr":
                found[model.address, index] = text(data) or ""
            else:
                found[model.address, index] = int.from_bytes(data, "big")
    return found
