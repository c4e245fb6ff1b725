"""Why a limit is what it is: what the generator can carry, less what the house adds to the limit, and so on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from desktop.charging.advice.advice import LimitAdvice
from desktop.charging.advice.settings import Setting
from desktop.words import Phrase

Name = Literal["carries", "endures", "house", "held_below", "free"]


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the limit.

    name     carries     what the generator can carry where it stands
             endures     what the load steps may lift it above that, for a short time
             house       what the house adds to the limit until the charger has given way
             held_below  what the charger leaves below its limit
             free        what is left free
    amperes  per leg; what is taken off is negative: the parts of a limit sum to it
    """

    name: Name
    amperes: float
    text: Phrase


def parts(advice: LimitAdvice, setting: Setting | None = None) -> tuple[Part, ...]:
    """The parts of a setting, or of the one that is advised; none where there is none."""
    setting = advice.best if setting is None else setting
    if setting is None:
        return ()
    full_a = advice.full_load_a
    endures = max(0.0, setting.peak - 1.0) * full_a
    house = max(0.0, setting.peak - setting.held) * full_a
    below = setting.limit_a - setting.held * full_a
    free = full_a + endures - house + below - setting.limit_a
    return (
        Part("carries", full_a, Phrase("{part:A} that the generator can carry here", part=full_a)),
        Part(
            "endures", endures, Phrase("{part:A} that it is lifted above that for a short time", part=endures)
        ),
        Part(
            "house",
            -house,
            Phrase("{part:A} that the house adds until the charger has given way", part=house),
        ),
        Part("held_below", below, Phrase("{part:A} that the charger stays below its limit", part=below)),
        Part("free", -free, Phrase("{part:A} that are left free", part=free)),
    )
