"""What may be ordered to go wrong between the plant and who reads it."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Literal, get_args

from recordings.errors import UsageError
from recordings.sheets import nearest

Kind = Literal["slow", "drop", "exception", "freeze", "garbage"]
"""slow: answers come 1.2 s late; drop: no answer, the connection ends; exception: the device says that it can't;
freeze: readings stay as they were; garbage: random bytes instead of an answer."""

KINDS: tuple[Kind, ...] = get_args(Kind)
LATE_S = 1.2

_ORDER = re.compile(r"([a-z]+)(?:=(\d+(?:\.\d+)?)(?:/(\d+(?:\.\d+)?))?)?")
_USUAL_REST = 10.0


@dataclass(frozen=True, slots=True)
class Order:
    """A fault that holds for the last `lasts_s` of every `every_s` seconds; with both 0, throughout."""

    kind: Kind
    lasts_s: float = 0.0
    every_s: float = 0.0

    def holds(self, running_s: float) -> bool:
        """True where it holds so many seconds after the start."""
        return not self.every_s or running_s % self.every_s >= self.every_s - self.lasts_s


def parse_order(text: str) -> Order:
    """`drop` throughout, `drop=5` for 5 s of every 50, `drop=5/60` for 5 s of every 60. UsageError otherwise."""
    match = _ORDER.fullmatch(text.strip())
    kind = next((kind for kind in KINDS if match and kind == match[1]), None)
    if match is None or kind is None:
        near = nearest(match[1] if match else text, KINDS)
        raise UsageError("no such fault", expected="KIND or KIND=SECONDS/EVERY", found=text, mend=near)
    lasts_s = float(match[2] or 0.0)
    every_s = float(match[3] or _USUAL_REST * lasts_s)
    if match[2] and not 0.0 < lasts_s <= every_s:
        raise UsageError("a fault that can't be", expected="0 < SECONDS ≤ EVERY", found=text)
    return Order(kind, lasts_s, every_s)


class Faults:
    """The faults that were ordered, by the clock since the start."""

    def __init__(self, orders: Iterable[Order], now: Callable[[], float], seed: int = 0) -> None:
        self._orders = tuple(orders)
        self._now, self._began = now, now()
        self._chance = random.Random(f"{seed} noise")

    def holds(self, kind: Kind) -> bool:
        """True while this kind of fault holds."""
        running_s = self._now() - self._began
        return any(order.kind == kind and order.holds(running_s) for order in self._orders)

    def noise(self) -> bytes:
        """Some random bytes."""
        return self._chance.randbytes(self._chance.randint(1, 60))
