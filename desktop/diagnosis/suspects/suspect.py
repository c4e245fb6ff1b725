"""A meter that is suspected to lie."""

from __future__ import annotations

from dataclasses import dataclass

from desktop.diagnosis.suspects.trials import USUAL_FACTORS, Fault
from desktop.words import Phrase

_NEAR = 0.05


@dataclass(frozen=True, slots=True)
class Suspect:
    """One suspect, with what explains the readings about as well.

    channel    the meter's channel, "a+b" for two that are swapped, "ac" or "dc" for a bus with something unmetered
    fault      what is wrong with it
    parameter  factor (scale), W too much (offset), W at which it stands (stuck), mean W (unmetered), share that is
               seen (one leg), s late (lag); NaN where there is none
    parameter_sd  its standard deviation
    unit       of the parameter
    explains   share of the imbalance that is gone when it is corrected, 0..1
    rivals     others that can't be told apart from it by this recording; theirs have no rivals of their own
    text, advice  in words: what is wrong, and how to make sure
    start, end    of the evidence, UTC nanoseconds
    """

    channel: str
    fault: Fault
    parameter: float
    parameter_sd: float
    unit: str
    explains: float
    rivals: tuple[Suspect, ...]
    text: Phrase
    advice: Phrase
    start: int
    end: int

    @property
    def channels(self) -> tuple[str, ...]:
        """The channels that are concerned; none for something unmetered."""
        return () if self.fault.startswith("unmetered") else tuple(self.channel.split("+"))

    @property
    def clear(self) -> bool:
        """True where it is named alone."""
        return not self.rivals


def usual_factor(factor: float) -> float:
    """The usual factor that a fitted one means; 0 where it is none of them."""
    return next((usual for usual in USUAL_FACTORS if abs(factor / usual - 1) <= _NEAR), 0.0)
