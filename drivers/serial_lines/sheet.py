"""The map of a serial line: what its lines look like, and which value is which channel."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from recordings.channels import CHANNELS
from recordings.sheets import ChannelName, Positive, Section, Sheet
from recordings.tables.units import fits, fitting, unit_of

Format = Literal["delimited", "pairs", "json"]


class Line(Section):
    """What a line is made of.

    format      "delimited" (12.5,230,50), "pairs" (load=1250 soc=63) or "json" (one object in each line)
    delimiter   between values or pairs; pairs without one are parted by blanks, commas or semicolons
    checksum    "xor": `$`, the text, `*` and two hexadecimal digits, the exclusive or of the text's bytes
    interval_s  how often the device sends
    """

    format: Format
    delimiter: str = Field(default=",", min_length=1, max_length=4)
    checksum: Literal["none", "xor"] = "none"
    interval_s: Positive = Field(default=1.0, ge=0.01, le=3600)


class Value(Section):
    """One value of a line.

    name   of a pair or a JSON member (a dot leads into an object); in delimited lines, the first cell of the
           lines meant, where a device sends several kinds
    index  of a cell of delimited lines, counted from 0
    unit   the device's; without it the channel's own
    sign   -1 where the device counts the other way round
    """

    channel: ChannelName
    name: str = ""
    index: int | None = Field(default=None, ge=0, le=511)
    unit: str | None = None
    sign: Literal[1, -1] = 1

    @model_validator(mode="after")
    def _fitting_unit(self) -> Self:
        own = CHANNELS[self.channel].unit
        if self.unit is None:
            return self
        unit = unit_of(self.unit)
        if unit is None or not own or not fits(unit, own):
            fit = ", ".join(fitting(own)) or "no unit"
            raise ValueError(f"a unit that fits {self.channel} ({fit}) instead of {self.unit!r}")
        return self


class LineMap(Sheet):
    """A whole map of a serial line."""

    KIND = "map of a serial line"

    line: Line
    field: tuple[Value, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _complete(self) -> Self:
        seen: set[str] = set()
        for value in self.field:
            if value.channel in seen:
                raise ValueError(f"each channel once; {value.channel} comes twice")
            seen.add(value.channel)
            if self.line.format == "delimited" and value.index is None:
                raise ValueError(f"an index for {value.channel}, as lines are delimited")
            if self.line.format != "delimited" and (not value.name or value.index is not None):
                raise ValueError(
                    f"a name, and no index, for {value.channel}, as lines are {self.line.format}"
                )
        return self

    @property
    def channels(self) -> tuple[str, ...]:
        """The channels that it gives, in the vocabulary's order."""
        given = {value.channel for value in self.field}
        return tuple(name for name in CHANNELS if name in given)
