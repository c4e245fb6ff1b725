"""What an outlook rests on: each value with where it is from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

Source = Literal["given", "recorded", "assumed"]

Note = Callable[[str, str, float | str, str, Source], None]
"""Takes the fields of an Assumption."""


@dataclass(frozen=True, slots=True)
class Assumption:
    """One value.

    name    as in the JSON
    label   what it is called (an English template)
    value   a number, or a text that needs no translation
    unit    in which it is, "" for none
    source  given by the sheet or the command, recorded, or assumed
    """

    name: str
    label: str
    value: float | str
    unit: str
    source: Source
