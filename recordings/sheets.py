"""Sheets that a person writes by hand in TOML, read strictly: every fault is one line that says what is right."""

from __future__ import annotations

import difflib
import math
import stat
import tomllib
import typing
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Annotated, Any, ClassVar, Self
from zoneinfo import ZoneInfo

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError
from pydantic_core import PydanticCustomError

from recordings.channels import CHANNELS
from recordings.errors import SheetError

_LARGEST = 1e12
"""More than anything that a plant has; squares of it are still numbers."""


def _plain_number(value: Any) -> Any:
    if isinstance(value, (bool, str)):
        raise ValueError("a number without quotes")
    if isinstance(value, (int, float)) and _LARGEST < abs(value) < math.inf:
        raise ValueError(f"a number up to {_LARGEST:g}")
    return value


def _known_zone(value: str) -> str:
    try:
        ZoneInfo(value)
    except Exception as error:
        raise ValueError('a time zone such as "Europe/Berlin"') from error
    return value


def _known_channel(value: str) -> str:
    if value not in CHANNELS:
        raise PydanticCustomError("unknown_channel", "{name}", {"name": value})
    return value


Number = Annotated[float, BeforeValidator(_plain_number), Field(allow_inf_nan=False)]
Positive = Annotated[Number, Field(gt=0)]
NotNegative = Annotated[Number, Field(ge=0)]
Percent = Annotated[Number, Field(ge=0, le=100)]
ZoneName = Annotated[str, BeforeValidator(_known_zone)]
ChannelName = Annotated[str, BeforeValidator(_known_channel)]


class Section(BaseModel):
    """A table of a sheet: frozen, and unknown keys are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Sheet(Section):
    """A whole sheet. `KIND` is what a person calls it."""

    KIND: ClassVar[str] = "sheet"

    @classmethod
    def load(cls, path: str | Path) -> Self:
        """Read a sheet from a file. SheetError names file, key, value and what would be right."""
        try:
            if not stat.S_ISREG(Path(path).stat().st_mode):
                raise SheetError(f"the {cls.KIND} is no ordinary file", where=path, mend="choose a TOML file")
            text = Path(path).read_text(encoding="utf-8-sig")
        except (OSError, ValueError) as error:
            reason = error.strerror if isinstance(error, OSError) and error.strerror else "is not UTF-8 text"
            raise SheetError(f"can't read the {cls.KIND}: {reason}", where=path) from error
        return cls.parse(text, str(path))

    @classmethod
    def parse(cls, text: str, where: str = "") -> Self:
        """A sheet from its TOML text; `where` is what errors call it."""
        where = where or cls.KIND
        try:
            table = tomllib.loads(text)
        except tomllib.TOMLDecodeError as error:
            raise SheetError(f"is no valid TOML: {error}", where=where, mend="mend the line named") from error
        except RecursionError as error:
            raise SheetError(
                "is nested too deeply", where=where, mend="write plain sections and keys"
            ) from error
        except ValueError as error:
            # Only a whole number of thousands of digits is valid TOML and still can't be read.
            raise SheetError("holds a number with too many digits", where=where, mend="shorten it") from error
        return cls.of(table, where)

    @classmethod
    def of(cls, table: dict[str, Any], where: str = "") -> Self:
        """A sheet from nested tables."""
        try:
            return cls.model_validate(table)
        except ValidationError as error:
            raise sheet_error(cls, error, where or cls.KIND) from error


def sheet_error(model: type[BaseModel], error: ValidationError, where: str) -> SheetError:
    """The first fault of a table that was to become a `model`; how many more there are is said too."""
    first = error.errors()[0]
    *folder, name = [part for part in first["loc"] if part != "[key]"] or [""]
    key = _named((*folder, name))
    more = f" (and {error.error_count() - 1} more)" if error.error_count() > 1 else ""
    if first["type"] == "unknown_channel":
        mend = nearest(str(first["input"]), CHANNELS)
        return SheetError(f"unknown channel {key}{more}", where=where, mend=mend)
    if first["type"] == "extra_forbidden":
        mend = nearest(str(name), _keys(model, folder))
        return SheetError(f"unknown key {key}{more}", where=where, mend=mend)
    if first["type"] == "missing":
        return SheetError(f"{key} is missing{more}", where=where, mend=f"add {name}")
    if first["type"] == "model_type":
        return SheetError(
            f"{key or 'the whole'}{more}",
            where=where,
            expected=f"keys and values, as in a section [{key}]",
            found=first["input"] if isinstance(first["input"], str) else type(first["input"]).__name__,
        )
    expected = first["msg"].removeprefix("Value error, ")
    expected = expected.removeprefix("Input should be ").removeprefix("a valid ")
    found = first["input"] if isinstance(first["input"], (str, int, float)) else type(first["input"]).__name__
    return SheetError(f"{key or 'the whole'}{more}", where=where, expected=expected, found=found)


def _named(path: Sequence[int | str]) -> str:
    """A key as a person finds it: `generator.rated_w`, `question.parts of note 2`; items are counted from 1."""
    told = [""]
    for part in path:
        if isinstance(part, int):
            told[-1] += f" {part + 1}"
            told.append("")
        else:
            told[-1] += f".{part}" if told[-1] else part
    return " of ".join(part for part in reversed(told) if part)


def nearest(name: str, known: Iterable[str]) -> str:
    """Which known name comes nearest to one that isn't known; all of them where none does."""
    names = list(known)
    close = difflib.get_close_matches(name, names, n=1, cutoff=0.5)
    return f"the nearest known is {close[0]}" if close else "known are " + ", ".join(names[:24])


def _keys(model: type[BaseModel], folder: Sequence[Any]) -> list[str]:
    at: type[BaseModel] = model
    for part in folder:
        if isinstance(part, str) and part in at.model_fields:
            at = _model_in(at.model_fields[part].annotation) or at
    return list(at.model_fields)


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in typing.get_args(annotation):
        found = _model_in(inner)
        if found is not None:
            return found
    return None
