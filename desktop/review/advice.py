"""What is told of the advised input limit."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from desktop.charging.advice.advice import LimitAdvice
from desktop.charging.advice.settings import Setting
from desktop.review.json_values import Object, number
from desktop.words import Phrase, tr

_SAYS_NOTHING = 0.4
"""Where so little was recorded that no more than this can be ruled out, no chance is told."""

_NEAR_A = 0.5
_ROWS = 9
"""So many settings are shown around the best."""


def advice_json(advice: LimitAdvice) -> Object:
    """The advice as JSON values."""
    return {
        "limit_a": None if advice.best is None else advice.best.limit_a,
        "unknown": str(advice.unknown) or None,
        "full_load_a": number(advice.full_load_a),
        "usual_a": [number(each) for each in advice.usual_a],
        "recorded_hours": number(advice.hours),
        "for_each_kwh": advice.per_kwh,
        "fuel_unit": advice.unit or None,
        "back_off_s": {
            "value": advice.back_off.delay_s,
            "source": "assumed" if advice.back_off.assumed else "measured",
        },
        "endurance": {
            "levels": [
                {"capability": each.capability, "multiplier": each.multiplier, "weight": each.weight}
                for each in advice.endurance.levels
            ],
            "source": "assumed" if advice.endurance.assumed else "measured",
        },
        "settings": [_setting(each) for each in advice.settings],
    }


def _setting(setting: Setting) -> Object:
    return {
        "limit_a": setting.limit_a,
        "trips": setting.trips,
        "trips_expected": number(setting.expected),
        "chance": number(setting.chance),
        "hours": number(setting.hours),
        "fuel": number(setting.fuel),
        "peak_share": number(setting.peak),
    }


def advice_text(advice: LimitAdvice, set_a: float | None) -> Iterator[str]:
    """The advice for people.

    set_a  the limit that is set now, A; None where it isn't known
    """
    if math.isnan(advice.full_load_a):
        return
    yield tr("What the AC input limit should be")
    for phrase in advice_phrases(advice, set_a):
        yield f"  {phrase}"
    yield from _table(advice, set_a)


def advice_phrases(advice: LimitAdvice, set_a: float | None) -> Iterator[Phrase]:
    """The advice in sentences."""
    if advice.best is not None:
        yield _recommended(advice, advice.best, set_a)
    elif str(advice.unknown):
        yield advice.unknown
    else:
        yield Phrase(
            "At every setting the house's own load steps would have tripped the set: it is too small."
        )
    yield Phrase(
        "Full load is {full:A} per leg. Usually a small buffer is left below it: {low:A} to {high:A} (common"
        " practice).",
        full=advice.full_load_a,
        low=advice.usual_a[0],
        high=advice.usual_a[1],
    )
    if advice.settings:
        yield _rests_on(advice)


def _recommended(advice: LimitAdvice, best: Setting, set_a: float | None) -> Phrase:
    if set_a is None:
        return Phrase("Set it to {limit:A} per leg.", limit=best.limit_a)
    now = min(advice.settings, key=lambda each: abs(each.limit_a - set_a))
    if now.trips and set_a > best.limit_a:
        return Phrase(
            "Lower it from {now:A} to {limit:A} per leg: at {now:A} the house's own load steps would have tripped"
            " the set {times} in {hours:.1f} recorded hours, at {limit:A} never{condition}.",
            now=set_a,
            limit=best.limit_a,
            times=_times(now.trips),
            hours=advice.hours,
            condition=Phrase(", if the charger takes {delay:time} to give way", delay=advice.back_off.delay_s)
            if advice.back_off.assumed
            else "",
        )
    if now.hours <= 1.05 * best.hours:
        if now.peak > 1.0:
            return Phrase(
                "It stands well at {now:A} per leg: the house's own load steps reach {peak:%} of what the set can"
                " carry for some seconds, which it endures.",
                now=set_a,
                peak=100 * now.peak,
            )
        return Phrase("It stands well at {now:A} per leg; nothing is gained by another setting.", now=set_a)
    return Phrase(
        "It could be raised from {now:A} to {limit:A} per leg: charging would take {share:%} less time, and the"
        " house's own load steps would not have tripped the set in {hours:.1f} recorded hours.",
        now=set_a,
        limit=best.limit_a,
        share=100 * (1 - best.hours / now.hours),
        hours=advice.hours,
    )


def _rests_on(advice: LimitAdvice) -> Phrase:
    delay = (
        Phrase("assumed: {delay:time}", delay=advice.back_off.delay_s)
        if advice.back_off.assumed
        else Phrase("measured: {delay:time}", delay=advice.back_off.delay_s)
    )
    endures = (
        Phrase("assumed: about {share:%} for a while", share=100 * advice.endurance.middle.capability)
        if advice.endurance.assumed
        else Phrase(
            "by the recording: about {share:%} for a while", share=100 * advice.endurance.middle.capability
        )
    )
    return Phrase(
        "This replays {hours:.1f} recorded hours of the house's load under each setting. How long the charger takes"
        " to give way is {delay}; what the set endures is {endures}. Ask the maker, and mind the input circuit.",
        hours=advice.hours,
        delay=delay,
        endures=endures,
    )


def shown_settings(advice: LimitAdvice) -> Sequence[Setting]:
    """The settings around the best, for a table."""
    best = advice.best
    if best is None:
        return advice.settings[::2]
    middle = advice.settings.index(best)
    first = max(0, min(middle - _ROWS // 2, len(advice.settings) - _ROWS))
    return advice.settings[first : first + _ROWS]


def _table(advice: LimitAdvice, set_a: float | None) -> Iterator[str]:
    if not advice.settings:
        return
    settings = shown_settings(advice)
    now = None if set_a is None else min(settings, key=lambda each: abs(each.limit_a - set_a))
    for setting in settings:
        mark = "→" if setting is advice.best else " "
        line = setting_line(advice, setting)
        if setting is now and set_a is not None and abs(now.limit_a - set_a) < _NEAR_A:
            line = Phrase("{line} – set now", line=line)
        yield f"  {mark} {line}"


def setting_line(advice: LimitAdvice, setting: Setting) -> Phrase:
    """A row of the table as a line."""
    fuel = (
        "" if math.isnan(setting.fuel) else Phrase(", {fuel:.1f} {unit}", fuel=setting.fuel, unit=advice.unit)
    )
    span = Phrase("{hours:time} for each kWh", hours=3600 * setting.hours)
    if not advice.per_kwh:
        span = Phrase("{hours:time} to the target", hours=3600 * setting.hours)
    return Phrase(
        "{limit:A}: {span}{fuel}, {trips}",
        limit=setting.limit_a,
        span=span,
        fuel=fuel,
        trips=_trips(setting),
    )


def _trips(setting: Setting) -> Phrase:
    if not setting.trips and setting.chance > _SAYS_NOTHING:
        return Phrase("no trip in the replay")
    if not setting.trips:
        return Phrase("no trip in the replay (chance below {chance:%} a run)", chance=100 * setting.chance)
    return Phrase(
        "tripped {times} in the replay (chance up to {chance:%} a run)",
        times=_times(setting.trips),
        chance=100 * setting.chance,
    )


def _times(count: int) -> Phrase:
    return Phrase("once") if count == 1 else Phrase("{count:d} times", count=count)
