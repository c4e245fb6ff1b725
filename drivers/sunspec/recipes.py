"""How a channel is made of the numbers of a device."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from drivers.modbus.planner import Span
from drivers.modbus.reading import Registers
from drivers.sunspec.quantities import Quantity


@dataclass(frozen=True, slots=True)
class Term:
    """A product of quantities, such as a power, or a voltage times a current."""

    factors: tuple[Quantity, ...]

    def value(self, registers: Registers) -> float:
        """The product; NaN where a factor isn't known."""
        product = 1.0
        for quantity in self.factors:
            value = quantity.value(registers)
            if value is None:
                return math.nan
            product *= value
        return product


class Sum:
    """The sum of what the device has ever told of several terms.

    A solar input that nobody uses is not implemented, always; it must not hide the others. One that has told
    something and then falls silent makes the sum not known.
    """

    def __init__(self, terms: Iterable[Term]) -> None:
        self.terms = tuple(terms)
        self._told = [False] * len(self.terms)

    def value(self, registers: Registers) -> float:
        """The sum; NaN where it isn't known."""
        if len(self.terms) == 1:
            return self.terms[0].value(registers)
        total, known = 0.0, False
        for index, term in enumerate(self.terms):
            value = term.value(registers)
            if not math.isnan(value):
                self._told[index] = True
            elif not self._told[index]:
                continue
            total, known = total + value, True
        return total if known else math.nan


@dataclass(frozen=True)
class Recipe:
    """One channel of a device.

    ways     ways to work it out, best first: the first that gives a number counts
    sign     1 or -1: what turns the device's count into the channel's
    open     True where the models leave the sign open, and it may be told by the charge state
    turned   True for powers and currents, which the user's own sign turns round
    beside   the model whose pulse shows whether the readings are fresh
    """

    channel: str
    ways: tuple[Sum, ...]
    sign: int = 1
    open: bool = False
    turned: bool = False
    beside: int = 0

    @cached_property
    def spans(self) -> frozenset[Span]:
        """All registers that it may need."""
        return frozenset(
            span
            for way in self.ways
            for term in way.terms
            for quantity in term.factors
            for span in quantity.spans
        )

    @cached_property
    def readings(self) -> frozenset[Span]:
        """The registers of the numbers themselves, without their scale factors."""
        return frozenset(
            quantity.span for way in self.ways for term in way.terms for quantity in term.factors
        )

    def value(self, registers: Registers) -> float:
        """The channel's value before an open sign is settled; NaN where it isn't known."""
        for way in self.ways:
            value = way.value(registers)
            if not math.isnan(value):
                return self.sign * value
        return math.nan
