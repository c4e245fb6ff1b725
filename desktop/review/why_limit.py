"""Why the advised AC input limit is what it is: what comes on top of it, and what a higher one would bring."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from desktop.charging.advice.advice import LimitAdvice
from desktop.charging.advice.against import against
from desktop.charging.advice.settings import Setting
from desktop.charging.currents import each_leg
from desktop.words import Phrase

SAYS_NOTHING = 0.4
"""Where so little was recorded that no more than this can be ruled out, no chance is told."""

_AT_ONCE_S = 0.5
_LEAST_A, _LEAST_SHARE = 0.5, 0.01
_LEAST_S = 60.0


@dataclass(frozen=True, slots=True)
class Why:
    """Why a limit is advised, or may stay.

    limit_a  the limit, A
    because  what comes on top of it, and what a higher one would bring, in a few sentences
    left     what chance of a trip is left, in a sentence
    """

    limit_a: float
    because: Phrase
    left: Phrase


def why_limit(advice: LimitAdvice, set_a: float | None) -> Why | None:
    """Why the limit is what it is; None where none is advised.

    set_a  the limit that is set now, A; None where it isn't known
    """
    told = against(advice, set_a)
    setting = advice.best if told is None else told.advised
    if setting is None:
        return None
    parts = [
        Phrase("The generator can carry {full} here.", full=each_leg(advice.full_load_a, advice.legs)),
        _on_top(advice, setting),
        *_more(advice, setting),
    ]
    named: dict[str, Any] = {f"part{number}": part for number, part in enumerate(parts)}
    because = Phrase(" ".join(f"{{{name}}}" for name in named), **named)
    return Why(setting.limit_a, because, _left(advice, setting))


def _on_top(advice: LimitAdvice, setting: Setting) -> Phrase:
    """What the house adds to the limit before the charger has given way."""
    most_a = setting.peak * advice.full_load_a
    more_a = most_a - setting.limit_a
    if more_a < max(_LEAST_A, _LEAST_SHARE * advice.full_load_a):
        return Phrase(
            "In the replay it never carried more than {most:A} at this limit, {share:%} of that.",
            most=most_a,
            share=100 * setting.peak,
        )
    return Phrase(
        "Until the charger has given way ({delay}), what is switched on in the house adds to the limit: up to "
        "{more:A}, {most:A} in all. That is {share:%} of what it can carry{endured}.",
        delay=_delay(advice),
        more=more_a,
        most=most_a,
        share=100 * setting.peak,
        endured=_endured(advice, setting),
    )


def _delay(advice: LimitAdvice) -> Phrase:
    back_off = advice.back_off
    if back_off.assumed:
        return Phrase("{delay:time}, assumed", delay=back_off.delay_s)
    if back_off.delay_s < _AT_ONCE_S:
        return Phrase("almost at once, as measured")
    return Phrase("{delay:time}, as measured", delay=back_off.delay_s)


def _endured(advice: LimitAdvice, setting: Setting) -> Phrase:
    capability = advice.endurance.middle.capability
    if setting.peak <= 1.0:
        return Phrase("")
    if setting.peak > capability:
        return Phrase(", for too short a time to trip it")
    if advice.endurance.assumed:
        return Phrase("; for a while it endures {endures:%} (assumed)", endures=100 * capability)
    return Phrase("; for a while it endures {endures:%} (as recorded)", endures=100 * capability)


def _more(advice: LimitAdvice, setting: Setting) -> Iterator[Phrase]:
    """Why it isn't a higher one."""
    higher = [each for each in advice.settings if each.limit_a > setting.limit_a]
    allowed = [each for each in higher if each.limit_a <= advice.highest_a]
    risky = next((each for each in allowed if each.trips), None)
    if risky is not None:
        yield Phrase(
            "At {limit:A} it would be {share:%}, and would have tripped {times} (chance in each run: up to "
            "{chance:%}).",
            limit=risky.limit_a,
            share=100 * risky.peak,
            times=times(risky.trips),
            chance=at_most(risky),
        )
        return
    if higher and not allowed:
        yield Phrase(
            "A higher limit would come too near to what the generator can carry, or to what the input circuit is "
            "made for."
        )
        return
    saved_s = max((3600 * (setting.hours - each.hours) for each in allowed), default=0.0)
    if advice.per_kwh or not allowed:
        return
    if saved_s < _LEAST_S:
        yield Phrase("A higher limit would save no time.")
    else:
        yield Phrase("A higher limit would save {saved:time} at most.", saved=saved_s)


def _left(advice: LimitAdvice, setting: Setting) -> Phrase:
    """What chance of a trip is left."""
    if setting.chance <= SAYS_NOTHING:
        return Phrase("The chance of a trip in a run is below {chance:%}.", chance=at_most(setting))
    return Phrase(
        "{span:time} of recording are too little to tell what chance of a trip is left.",
        span=3600 * advice.hours,
    )


def at_most(setting: Setting) -> float:
    """The chance of a trip that isn't exceeded, in percent; never told as none."""
    return max(1.0, 100 * setting.chance)


def times(count: int) -> Phrase:
    """`once`, `3 times`."""
    return Phrase("once") if count == 1 else Phrase("{count:d} times", count=count)
