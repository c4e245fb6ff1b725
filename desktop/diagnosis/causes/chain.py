"""The chain of a finding: what happened in order, from what set it off to how it ended."""

from __future__ import annotations

from dataclasses import dataclass

from desktop.words import Phrase


@dataclass(frozen=True, slots=True)
class Link:
    """One event of a chain.

    time   UTC nanoseconds
    kind   input_limit, before, connected, load_step, charger_gave_way, charger_stayed, input_peak, generator_peak,
           frequency_sank, voltage_sank, fuel, back_in_limits, stopped, charge_limit, charge_peak, charging,
           voltage_peak, temperature, both_live, highest_charge, below_reserve, generator_on
    value  its number in `unit`; NaN where there is none
    text   the event in a sentence
    """

    time: int
    kind: str
    value: float
    unit: str
    text: Phrase


@dataclass(frozen=True, slots=True)
class Chain:
    """Why a finding came about.

    finding, start  the finding's kind and start (UTC nanoseconds)
    links    in order of time
    cause    the cause in one sentence
    certain  False where the sentence says that, or what, the recording can't tell
    unknown  what the recording can't tell, and what would
    """

    finding: str
    start: int
    links: tuple[Link, ...]
    cause: Phrase
    certain: bool
    unknown: tuple[Phrase, ...] = ()


def ordered(links: list[Link]) -> tuple[Link, ...]:
    """Links in order of time; at the same time as they were given."""
    return tuple(sorted(links, key=lambda link: link.time))
