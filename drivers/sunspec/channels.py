"""Which channels a device gives in its role, and from which points of its models.

Signs: an inverter's AC power is positive when it generates (model 701 says so; taken for 101 to 113 too). A
meter's power is taken as positive in the direction that its channel counts; a battery's current as positive
when it discharges, until its charge state tells. The user's own sign goes before all of these.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from drivers.roles import Role
from drivers.sunspec.discovery import Chain, Model
from drivers.sunspec.quantities import Quantity
from drivers.sunspec.recipes import Recipe, Sum, Term
from drivers.sunspec.roles import INVERTERS, METERS

_LEG_VOLTAGES = (("PhVphA", "VL1"), ("PhVphB", "VL2"), ("PhVphC", "VL3"))
_LEG_CURRENTS = (("AphA", "AL1"), ("AphB", "AL2"), ("AphC", "AL3"))
_LEG_POWERS = ("WphA", "WphB", "WphC")

_ONE_LEG = (101, 111, 201, 211)
_TWO_LEGS = (102, 112, 202, 212)
_PHOTOVOLTAIC_PORT, _STORAGE_PORT = 0, 1
_STORAGE_WORDS = re.compile(r"batt|bess|\bess\b|stor|charge", re.IGNORECASE)

Ports = dict[tuple[int, int], int | str]
"""(model's address, port's number from 1) → the port's type (714), or its name (160)."""


def recipes(chain: Chain, role: Role | None, ports: Ports) -> list[Recipe]:
    """All channels of a device in a role; at most one recipe for each channel."""
    found: dict[str, Recipe] = {}
    for recipe in _all(chain, role, ports):
        found.setdefault(recipe.channel, recipe)
    return list(found.values())


def _all(chain: Chain, role: Role | None, ports: Ports) -> Iterator[Recipe]:
    ac = ac_model(chain, role)
    if ac is not None and role is not None:
        yield from _AC[role](ac, chain)
    if not (role == "solar" and ac is not None and ac.number in INVERTERS):
        # Behind an inverter that feeds the AC bus, the solar inputs are the same power once more.
        yield from _solar_ports(chain, ports)
    yield from _battery(chain, ports)


def ac_model(chain: Chain, role: Role | None) -> Model | None:
    """The model that tells the AC side of a device in this role."""
    if role in ("generator", "grid", "load"):
        order = (*METERS, *INVERTERS)
    elif role in ("converter", "solar"):
        order = (*INVERTERS, *METERS)
    else:
        return None
    return next((model for number in order for model in chain.all_of(number)), None)


def _generator(model: Model, chain: Chain) -> Iterator[Recipe]:
    yield from _power("generator_power", model, 1)
    yield from _either("generator_frequency", model, (("Hz",),))
    one_leg = model.number in _ONE_LEG
    first_leg = (("PhVphA",), ("VL1",)) if one_leg else ()
    yield from _either("generator_voltage", model, (("PhV",), ("LNV",), *first_leg))
    if one_leg:
        yield from _either("generator_current", model, (("A",), ("AphA",)), turned=True)
        return
    legs = 2 if model.number in _TWO_LEGS else 3
    for leg in range(legs):
        volts, amperes = ([(name,) for name in names[leg]] for names in (_LEG_VOLTAGES, _LEG_CURRENTS))
        yield from _either(f"generator_voltage_l{leg + 1}", model, volts)
        yield from _either(f"generator_current_l{leg + 1}", model, amperes, turned=True)


def _grid(model: Model, chain: Chain) -> Iterator[Recipe]:
    yield from _power("grid_power", model, 1)


def _load(model: Model, chain: Chain) -> Iterator[Recipe]:
    yield from _power("load_power", model, 1)


def _solar(model: Model, chain: Chain) -> Iterator[Recipe]:
    yield from _power("solar_ac_power", model, 1)


def _converter(model: Model, chain: Chain) -> Iterator[Recipe]:
    if model.number in METERS:
        yield from _power("converter_ac_power", model, 1)
        return
    yield from _power("converter_ac_power", model, -1)
    if not chain.all_of(160, 714):
        # With solar inputs in the same device its DC power may be theirs.
        yield from _either("converter_dc_power", model, (("DCW",),), sign=-1, turned=True)


def _nothing(model: Model, chain: Chain) -> Iterator[Recipe]:
    yield from ()


_AC = {
    "generator": _generator,
    "grid": _grid,
    "load": _load,
    "solar": _solar,
    "converter": _converter,
    "battery": _nothing,
}


def _solar_ports(chain: Chain, ports: Ports) -> Iterator[Recipe]:
    terms: list[Term] = []
    products: list[Term] = []
    beside = 0
    for model, group, index in _ports(chain):
        kind = ports.get((model.address, index))
        if isinstance(kind, str) and _STORAGE_WORDS.search(kind):
            continue
        if model.number == 714 and kind != _PHOTOVOLTAIC_PORT:
            continue
        power, volts, amperes = (_quantity(model, name, group, index) for name in ("DCW", "DCV", "DCA"))
        if power is not None:
            terms.append(Term((power,)))
        if volts is not None and amperes is not None:
            products.append(Term((volts, amperes)))
        beside = beside or model.address
    if terms:
        yield Recipe("solar_power", (Sum(terms), Sum(products)), turned=True, beside=beside)


def _battery(chain: Chain, ports: Ports) -> Iterator[Recipe]:
    for model in chain.all_of(802):
        yield from _either("battery_voltage", model, (("V",),))
        for channel, name in (("battery_current", "A"), ("battery_power", "W")):
            yield from _either(channel, model, ((name,),), open_sign=True, turned=True)
        yield from _either("battery_soc", model, (("SoC",),))
    for model in chain.all_of(803):
        yield from _either("battery_temperature", model, (("ModTmpAvg",),))
    for model in chain.all_of(713):
        yield from _either("battery_soc", model, (("SoC",),))
    storage = [
        (model, group, index)
        for model, group, index in _ports(chain)
        if model.number == 714 and ports.get((model.address, index)) == _STORAGE_PORT
    ]
    if len(storage) == 1:
        model, group, index = storage[0]
        yield from _port("battery_voltage", model, "DCV", group, index)
        yield from _port("battery_current", model, "DCA", group, index, open_sign=True)
        yield from _port("battery_power", model, "DCW", group, index, open_sign=True)


def _ports(chain: Chain) -> Iterator[tuple[Model, str, int]]:
    for number, group in ((160, "module"), (714, "Prt")):
        for model in chain.all_of(number):
            for index in range(1, model.layout.repetitions(group) + 1):
                yield model, group, index


def _port(
    channel: str, model: Model, name: str, group: str, index: int, open_sign: bool = False
) -> Iterator[Recipe]:
    quantity = _quantity(model, name, group, index)
    if quantity is not None:
        way = Sum([Term((quantity,))])
        yield Recipe(channel, (way,), open=open_sign, turned=open_sign, beside=model.address)


def _power(channel: str, model: Model, sign: int) -> Iterator[Recipe]:
    legs = _LEG_POWERS if model.number not in _TWO_LEGS else _LEG_POWERS[:2]
    yield from _either(channel, model, (("W",), legs), sign=sign, turned=True)


def _either(
    channel: str,
    model: Model,
    ways: Iterable[Sequence[str]],
    *,
    sign: int = 1,
    open_sign: bool = False,
    turned: bool = False,
) -> Iterator[Recipe]:
    """A recipe of the ways that the model has the points for; each is a sum of points."""
    found: list[Sum] = []
    for names in ways:
        quantities = [_quantity(model, name) for name in names]
        terms = [Term((quantity,)) for quantity in quantities if quantity is not None]
        if len(terms) == len(names):
            found.append(Sum(terms))
    if found:
        yield Recipe(channel, tuple(found), sign, open_sign, turned, model.address)


def _quantity(model: Model, name: str, group: str = "", index: int = 0) -> Quantity | None:
    point = model.layout.point(name, group, index)
    return None if point is None else Quantity.of(model, point)
