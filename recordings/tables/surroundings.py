"""What the headers of a table tell about one another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Source = Literal["generator", "grid", ""]


@dataclass(frozen=True, slots=True)
class Feed:
    """What feeds an AC input.

    source  "" where it can't be told
    why     the evidence, in words
    asks    a person has to say it: power or current came in, and nobody knows from where
    """

    source: Source = ""
    why: str = ""
    asks: bool = False


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the other headers tell.

    french       French is spoken: there `charge` alone means the load,
    discharges   unless a header says `discharge` alone, without a battery
    bare_ports   of "input" and "output", those that mean the AC side without saying so
    feeds        AC input's number (None: the only one) → what feeds it; none before that is settled
    measured     the channels that other headers than those of AC inputs mean
    """

    french: bool = False
    discharges: bool = False
    bare_ports: frozenset[str] = frozenset()
    feeds: Mapping[int | None, Feed] = field(default_factory=dict)
    measured: frozenset[str] = frozenset()
