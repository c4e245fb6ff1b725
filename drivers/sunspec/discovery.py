"""Finding a device's chain of models, and who it says it is."""

from __future__ import annotations

from dataclasses import dataclass

from drivers.modbus.errors import RefusedError
from drivers.modbus.reading import UnitReader
from drivers.sunspec.layout import Layout, layout_of

BASES = (40000, 50000, 0)
"""Where the chain may begin."""

_MARKER = b"SunS"
_END = 0xFFFF
_COMMON = 1
_MOST_MODELS = 200
_NO_SUCH_REGISTERS = (1, 2, 3)
"""Exceptions by which a device says that there is nothing; all others say that something is wrong."""


@dataclass(frozen=True, slots=True)
class Model:
    """One model of a device's chain.

    address  of its first register, the model's number
    """

    number: int
    address: int
    length: int

    @property
    def layout(self) -> Layout:
        """Where its points lie."""
        return layout_of(self.number, self.length)


@dataclass(frozen=True, slots=True)
class Identity:
    """What the common model says: "" where it doesn't."""

    maker: str = ""
    model: str = ""
    options: str = ""
    version: str = ""
    serial: str = ""


@dataclass(frozen=True, slots=True)
class Chain:
    """The models of a device, in order.

    broken  True where the chain ended in something else than its end mark
    """

    base: int
    models: tuple[Model, ...]
    broken: bool = False

    def all_of(self, *numbers: int) -> tuple[Model, ...]:
        """Its models of these numbers."""
        return tuple(model for model in self.models if model.number in numbers)


def discover(reader: UnitReader) -> Chain | None:
    """The chain of the unit; None where it has none.

    ReadFaultError where the unit doesn't answer, or can't at present. The marker's place is asked for at each
    usual base.
    """
    failing: RefusedError | None = None
    for base in BASES:
        try:
            found = reader.words("holding", base, 2)
        except RefusedError as error:
            if error.code not in _NO_SUCH_REGISTERS:
                failing = error
            continue
        if found == _MARKER:
            return _walk(reader, base)
    if failing is not None:
        raise failing
    return None


def _walk(reader: UnitReader, base: int) -> Chain:
    models: list[Model] = []
    address = base + 2
    while address < 0xFFFF and len(models) < _MOST_MODELS:
        number, length = _header(reader, address)
        if number == _END:
            return Chain(base, tuple(models))
        if number == 0 or length is None or address + 2 + length > 0x10000:
            break
        models.append(Model(number, address, length))
        address += 2 + length
    return Chain(base, tuple(models), broken=True)


def _header(reader: UnitReader, address: int) -> tuple[int, int | None]:
    """(number, length) of the model at an address; some devices end with the number alone."""
    try:
        data = reader.words("holding", address, 2)
    except RefusedError:
        try:
            data = reader.words("holding", address, 1)
        except RefusedError:
            return 0, None
    number = int.from_bytes(data[:2], "big")
    return number, int.from_bytes(data[2:], "big") if len(data) == 4 else None


def identify(reader: UnitReader, chain: Chain) -> Identity:
    """Who the device says it is."""
    common = next(iter(chain.all_of(_COMMON)), None)
    if common is None:
        return Identity()
    data = reader.words("holding", common.address, common.length + 2)
    said = {point.name: value for point, value in common.layout.decoded(data) if isinstance(value, str)}
    return Identity(*(said.get(name, "") for name in ("Mn", "Md", "Opt", "Vr", "SN")))
