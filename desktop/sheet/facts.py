"""What the site sheet's own models know of a key: what is assumed without it, and what would be a right value."""

from __future__ import annotations

import types
import typing
from datetime import datetime
from typing import Any

import annotated_types
from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from desktop.site import Appliance, ColumnRule, Device, Meter, Refill, Site
from desktop.words import Phrase, template


def _models() -> dict[str, type[BaseModel]]:
    models: dict[str, type[BaseModel]] = {}
    for name, info in Site.model_fields.items():
        if isinstance(info.annotation, type) and issubclass(info.annotation, BaseModel):
            models[name] = info.annotation
    repeated: dict[str, type[BaseModel]] = {
        "meters": Meter,
        "columns": ColumnRule,
        "device": Device,
        "refill": Refill,
    }
    return models | repeated | {"appliance": Appliance}


MODELS: dict[str, type[BaseModel]] = _models()
"""The model of each table; of tables that come more than once, that of one of them."""

CHOICES: dict[Any, str] = {
    "lfp": template("Lithium iron phosphate (LFP)"),
    "nmc": template("Lithium nickel manganese cobalt (NMC)"),
    "flooded": template("Lead-acid, flooded"),
    "agm": template("Lead-acid, AGM"),
    "gel": template("Lead-acid, gel"),
    "diesel": template("Diesel"),
    "gasoline": template("Gasoline"),
    "propane": template("Propane"),
    "natural gas": template("Natural gas"),
    "instant": template("The instant"),
    "start": template("The start of an interval"),
    "end": template("The end of an interval"),
    "day first": template("Day first"),
    "month first": template("Month first"),
    "dc": template("DC side"),
    "ac": template("AC side"),
    "generator": template("Generator"),
    "grid": template("Grid"),
    "load": template("House loads"),
    "solar": template("Solar"),
    "battery": template("Battery"),
    "converter": template("Inverter-charger"),
}
"""What the words that a key can have are called."""

_YES, _NO = template("yes"), template("no")

_SOME: dict[str, Any] = {"at": "2000-01-01T00:00:00Z", "amount": 1.0, "watts": 1.0}
"""Right values of needed keys that no text can be."""


def field(section: str, key: str) -> FieldInfo:
    """What the model says of a key."""
    return MODELS[section].model_fields[key]


def assumed(section: str, key: str) -> Any:
    """What is assumed where the sheet doesn't say; None where nothing is."""
    if field(section, key).is_required():
        return None
    default = field(section, key).get_default()
    return None if default == "" else default


def choice_name(value: Any) -> str:
    """What one of the words or numbers that a key can have is called (an English template)."""
    if isinstance(value, bool):
        return _YES if value else _NO
    return CHOICES.get(value, str(value))


def choices(section: str, key: str) -> tuple[Any, ...]:
    """The words or numbers that a key can have; () where it is free."""
    if bool in _parts(field(section, key).annotation):
        return True, False
    return next(
        (
            typing.get_args(each)
            for each in _parts(field(section, key).annotation)
            if typing.get_origin(each) is typing.Literal
        ),
        (),
    )


def is_time(section: str, key: str) -> bool:
    """Whether a key is a date and time."""
    return datetime in _parts(field(section, key).annotation)


def is_needed(section: str, key: str) -> bool:
    """Whether an entry of the section is nothing without this key."""
    return field(section, key).is_required()


def is_number(section: str, key: str) -> bool:
    """Whether a key is a number, and no choice."""
    return any(each is float for each in _parts(field(section, key).annotation))


def right(section: str, key: str) -> Phrase:
    """What would be a right value, as the end of a sentence: `a number above 0`."""
    if is_time(section, key):
        return Phrase("a date and time such as 2026-02-14 08:30")
    if choices(section, key):
        return Phrase("one of {names}", names=", ".join(str(each) for each in choices(section, key)))
    if key == "timezone":
        return Phrase("a time zone such as Europe/Berlin")
    if not is_number(section, key):
        return Phrase("a text")
    least, above, most = _bounds(field(section, key))
    if above is not None:
        if most is not None:
            return Phrase("a number above {least} and up to {most}", least=f"{above:g}", most=f"{most:g}")
        return Phrase("a number above {least}", least=f"{above:g}")
    if least is not None and most is not None:
        return Phrase("a number from {least} to {most}", least=f"{least:g}", most=f"{most:g}")
    if least is not None:
        return Phrase("a number from {least} on", least=f"{least:g}")
    return Phrase("a number")


def _bounds(info: FieldInfo) -> tuple[float | None, float | None, float | None]:
    """(from, above, up to) as far as the model says."""
    least = above = most = None
    for each in _marks(info.annotation, info.metadata):
        if isinstance(each, annotated_types.Ge):
            least = float(typing.cast(float, each.ge))
        elif isinstance(each, annotated_types.Gt):
            above = float(typing.cast(float, each.gt))
        elif isinstance(each, annotated_types.Le):
            most = float(typing.cast(float, each.le))
    return least, above, most


def _marks(annotation: Any, metadata: list[Any]) -> list[Any]:
    marks = []
    for each in metadata:
        marks += each.metadata if isinstance(each, FieldInfo) else [each]
    if typing.get_origin(annotation) is typing.Annotated:
        inner, *more = typing.get_args(annotation)
        return marks + _marks(inner, more)
    if isinstance(annotation, types.UnionType) or typing.get_origin(annotation) is typing.Union:
        for part in typing.get_args(annotation):
            marks += _marks(part, [])
    return marks


def _parts(annotation: Any) -> list[Any]:
    """A type and the types that it is made of, without their marks."""
    if typing.get_origin(annotation) is typing.Annotated:
        return _parts(typing.get_args(annotation)[0])
    if isinstance(annotation, types.UnionType) or typing.get_origin(annotation) is typing.Union:
        return [part for each in typing.get_args(annotation) for part in _parts(each)]
    return [annotation]


def accepts(section: str, key: str, value: Any) -> bool:
    """Whether a value is a right one."""
    model = MODELS[section]
    needed = {name: _SOME.get(name, "x") for name, info in model.model_fields.items() if info.is_required()}
    try:
        model.model_validate(needed | {key: value})
    except ValidationError:
        return False
    return True
