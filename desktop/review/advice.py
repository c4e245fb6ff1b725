"""What is told of the advised input limit."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from desktop.charging.advice.advice import TRIP_COSTS_H, LimitAdvice
from desktop.charging.advice.against import against
from desktop.charging.advice.parts import parts
from desktop.charging.advice.settings import Setting
from desktop.charging.currents import each_leg
from desktop.review.json_values import Object, number
from desktop.review.why_limit import SAYS_NOTHING, at_most, times, why_limit
from desktop.words import Phrase, tr

_AT_ONCE_S = 0.5
_ROWS = 9
_WEAKER = 0.3
"""So many trips over all that a generator may endure are told as a weaker one's."""
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
        "held_below_a": {
            "value": advice.held.below_a,
            "source": "assumed" if advice.held.assumed else "measured",
        },
        "highest_a": number(advice.highest_a),
        "endurance": {
            "levels": [
                {"capability": each.capability, "multiplier": each.multiplier, "weight": each.weight}
                for each in advice.endurance.levels
            ],
            "source": "assumed" if advice.endurance.assumed else "measured",
        },
        "why": [
            {"part": part.name, "amperes": number(part.amperes), "text": str(part.text)}
            for part in parts(advice)
        ],
        "settings": [_setting(each) for each in advice.settings],
    }


def _setting(setting: Setting) -> Object:
    return {
        "limit_a": setting.limit_a,
        "trips": setting.trips,
        "trips_expected": number(setting.expected),
        "chance": number(setting.chance),
        "likely": number(setting.likely),
        "hours": number(setting.hours),
        "fuel": number(setting.fuel),
        "peak_share": number(setting.peak),
        "held_share": number(setting.held),
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
            "At every setting the house's own load steps would have tripped the generator: it is too small."
        )
    why = why_limit(advice, set_a)
    if why is not None:
        yield Phrase("Why {limit:A}: {because} {left}", limit=why.limit_a, because=why.because, left=why.left)
    yield usual_phrase(advice)
    if advice.settings:
        yield _rests_on(advice)


def usual_phrase(advice: LimitAdvice) -> Phrase:
    """What is usually set."""
    return Phrase(
        "Full load is {full}. Usually a small buffer is left below it: {low:A} to {high:A} (common practice).",
        full=each_leg(advice.full_load_a, advice.legs),
        low=advice.usual_a[0],
        high=advice.usual_a[1],
    )


def _recommended(advice: LimitAdvice, best: Setting, set_a: float | None) -> Phrase:
    told = against(advice, set_a)
    if told is None:
        return Phrase(
            "Set it to {limit}: {tripped}.",
            limit=each_leg(best.limit_a, advice.legs),
            tripped=_tripped(advice, best),
        )
    now = told.nearest
    if told.stands_well:
        return Phrase(
            "It stands well at {now}: {tripped}.",
            now=each_leg(told.set_a, advice.legs),
            tripped=_tripped(advice, now),
        )
    if told.lower_to is not None:
        return Phrase(
            "Lower it from {now:A} to {advised}: at {now:A} {tripped}; at {limit:A} {better}{condition}.",
            now=told.set_a,
            limit=best.limit_a,
            advised=each_leg(best.limit_a, advice.legs),
            tripped=_tripped(advice, now),
            better=_tripped(advice, best),
            condition=Phrase(", if the charger takes {delay:time} to give way", delay=advice.back_off.delay_s)
            if advice.back_off.assumed
            else "",
        )
    return Phrase(
        "It could be raised from {now:A} to {limit}: charging would take {share:%} less time, and {tripped}.{mind}",
        now=told.set_a,
        limit=each_leg(best.limit_a, advice.legs),
        share=100 * (1 - best.hours / now.hours),
        tripped=_tripped(advice, best),
        mind=Phrase(
            " That leaves less room than is usual: go up in small steps, and watch speed and voltage."
        )
        if best.limit_a > advice.usual_a[1]
        else "",
    )


def _tripped(advice: LimitAdvice, setting: Setting) -> Phrase:
    """What became of a setting in the replay."""
    if not setting.expected:
        return Phrase(
            "no load step of the house would have tripped the generator in {span:time} of recording",
            span=3600 * advice.hours,
        )
    if not setting.trips:
        return Phrase(
            "only a weak generator would have tripped at the house's own load steps in {span:time} of recording",
            span=3600 * advice.hours,
        )
    return Phrase(
        "the house's own load steps would have tripped the generator {times} in {span:time} of recording "
        "(chance a run: about {likely:%}, up to {chance:%})",
        times=times(setting.trips),
        span=3600 * advice.hours,
        likely=100 * setting.likely,
        chance=at_most(setting),
    )


def _rests_on(advice: LimitAdvice) -> Phrase:
    delay = Phrase("measured: {delay:time}", delay=advice.back_off.delay_s)
    if advice.back_off.assumed:
        delay = Phrase("assumed: {delay:time}", delay=advice.back_off.delay_s)
    elif advice.back_off.delay_s < _AT_ONCE_S:
        delay = Phrase("measured: none that shows")
    endures = (
        Phrase("assumed: about {share:%} for a while", share=100 * advice.endurance.middle.capability)
        if advice.endurance.assumed
        else Phrase(
            "by the recording: about {share:%} for a while", share=100 * advice.endurance.middle.capability
        )
    )
    below = (
        Phrase("assumed: at its limit")
        if advice.held.assumed
        else Phrase("measured: {below:A} below its limit", below=advice.held.below_a)
    )
    return Phrase(
        "This replays {span:time} of the house's recorded load under each setting. Where the charger holds the"
        " input is {below}; how long it takes to give way is {delay}; what the generator endures is "
        "{endures}. A trip is"
        " reckoned to be as bad as {cost:.0f} hours more of running (assumed), and the setting that costs least is"
        " advised. Ask the maker, and mind the input circuit.",
        span=3600 * advice.hours,
        below=below,
        delay=delay,
        cost=TRIP_COSTS_H,
        endures=endures,
    )


def shown_settings(advice: LimitAdvice) -> Sequence[Setting]:
    """The settings around the best, for a table."""
    best = advice.best
    if best is None:
        return advice.settings[::2]
    middle = advice.settings.index(best)
    first = max(0, min(middle - _ROWS // 2, len(advice.settings) - _ROWS))
    around = set(range(first, min(first + _ROWS, len(advice.settings))))
    low_a, high_a = advice.usual_a
    usual = [n for n, each in enumerate(advice.settings) if low_a <= each.limit_a <= high_a]
    return [advice.settings[n] for n in sorted(around | {*usual[:1], *usual[-1:]})]


def _table(advice: LimitAdvice, set_a: float | None) -> Iterator[str]:
    if not advice.settings:
        return
    settings = shown_settings(advice)
    told = against(advice, set_a)
    advised = advice.best if told is None else told.advised
    now = None if told is None else told.nearest
    for setting in _with(settings, now):
        line = setting_line(advice, setting)
        if setting is advice.best and setting is advised:
            line = Phrase("{line} – advised: costs least", line=line)
        elif setting is advised:
            line = Phrase("{line} – stands well", line=line)
        if setting is now:
            line = Phrase("{line} – set now", line=line)
        yield f"  {'→' if setting is advised else ' '} {line}"


def _with(settings: Sequence[Setting], one: Setting | None) -> list[Setting]:
    """The settings with another one in its place by its limit."""
    if one is None or one in settings:
        return list(settings)
    return sorted([*settings, one], key=lambda each: each.limit_a)


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
    if not setting.trips and setting.expected >= _WEAKER:
        return Phrase("no trip in the replay; a weaker generator would have tripped")
    if not setting.trips and setting.chance > SAYS_NOTHING:
        return Phrase("no trip in the replay")
    if not setting.trips:
        return Phrase("no trip in the replay (chance below {chance:%} a run)", chance=at_most(setting))
    return Phrase(
        "tripped {times} in the replay (chance a run: about {likely:%}, up to {chance:%})",
        times=times(setting.trips),
        likely=100 * setting.likely,
        chance=at_most(setting),
    )
