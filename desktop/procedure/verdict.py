"""What readings say of a step."""

from __future__ import annotations

from dataclasses import dataclass

from desktop.procedure.situation import State
from desktop.words import Phrase

NOTHING = Phrase("")


@dataclass(frozen=True, slots=True)
class Verdict:
    """As in `StepState`: its state, when it was done, what the readings say, whether that is past or present."""

    state: State
    at: int | None = None
    told: Phrase = NOTHING
    slip: bool = False
    alarm: bool = False


UNKNOWN = Verdict("can't tell")
OPEN = Verdict("open")


def failing(told: Phrase) -> Verdict:
    """It isn't as it has to be now."""
    return Verdict("not met", told=told, alarm=True)


def failed(told: Phrase) -> Verdict:
    """It wasn't as it had to be."""
    return Verdict("not met", told=told, slip=True)
