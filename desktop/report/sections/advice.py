"""What the AC input limit should be, with the settings that were tried on the recorded load."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from desktop.charging.advice.advice import LimitAdvice
from desktop.charging.advice.against import against
from desktop.charging.advice.settings import Setting
from desktop.report.account import Account
from desktop.report.blocks import Block, Paragraph, Section, Table
from desktop.review import Review
from desktop.review.advice import advice_phrases, shown_settings, usual_phrase
from desktop.review.advised import limit_set
from desktop.review.why_limit import SAYS_NOTHING, at_most, why_limit
from desktop.words import Phrase, current, decimal, duration, percent, tr

_LEAST_DELAY_S = 0.5
_AROUND = 2


def advice(account: Account) -> Section | None:
    """The advice; None where nothing can be said of the limit."""
    found, now = account.review.limit_advice, limit_set(account.review)
    if math.isnan(found.full_load_a):
        return None
    title = tr("What the AC input limit should be")
    if account.in_doubt:
        untold = tr("No limit is advised while the powers don't add up: it would rest on numbers in doubt.")
        return Section("advice", title, (Paragraph(untold),))
    told: list[Block] = [
        Paragraph(str(next(advice_phrases(found, now)))),
        *why(account.review, whole=True),
        Paragraph(str(usual_phrase(found))),
    ]
    if found.settings:
        told.append(Paragraph(" ".join(str(phrase) for phrase in _rests_on(found))))
        told.append(_table(account, found, now))
    return Section("advice", title, tuple(told))


@dataclass(frozen=True, slots=True)
class LimitSentence:
    """What is advised, in a sentence; `changes` where the limit should be, or could be, another one."""

    text: str
    changes: bool


def limit_sentence(review: Review) -> Iterator[LimitSentence]:
    """The advice in a sentence; none where no setting can be advised, or none is known to be set."""
    found, now = review.limit_advice, limit_set(review)
    told = against(found, now)
    if told is not None:
        yield LimitSentence(str(next(advice_phrases(found, now))), not told.stands_well)


def why(review: Review, *, whole: bool) -> Iterator[Paragraph]:
    """Why the limit that is advised; nothing where none is.

    whole  with what chance of a trip is left
    """
    found = why_limit(review.limit_advice, limit_set(review))
    if found is not None:
        text = f"{found.because} {found.left}" if whole else str(found.because)
        yield Paragraph(text, str(Phrase("Why {limit:A}:", limit=found.limit_a)))


def _rests_on(found: LimitAdvice) -> Iterator[Phrase]:
    yield Phrase(
        "Each setting was tried on the house's load of the {span:time} that were recorded.",
        span=3600 * found.hours,
    )
    delay_s = found.back_off.delay_s
    if found.back_off.assumed:
        yield Phrase("That the charger takes {delay:time} to give way is assumed.", delay=delay_s)
    elif delay_s < _LEAST_DELAY_S:
        yield Phrase("The charger gives way to the house at once, as measured.")
    else:
        yield Phrase("The charger takes {delay:time} to give way, as measured.", delay=delay_s)
    share = 100 * found.endurance.middle.capability
    if found.endurance.assumed:
        yield Phrase(
            "That the generator carries {share:%} of its rating for a while is assumed: ask its maker.",
            share=share,
        )
    else:
        yield Phrase(
            "By the recording the generator carries {share:%} of its rating for a while.", share=share
        )
    yield Phrase("Mind what the input circuit is made for, too.")


def _table(account: Account, found: LimitAdvice, now: float | None) -> Table:
    fuel = any(math.isfinite(each.fuel) for each in found.settings)
    span = tr("Time for each kWh") if found.per_kwh else tr("Time to the target")
    burnt = (str(Phrase("Fuel, {unit}", unit=found.unit)),) if fuel else ()
    head = (
        "",
        tr("Limit per leg") if found.legs > 1 else tr("Limit"),
        span,
        *burnt,
        tr("Trips in the replay"),
        tr("Chance of a trip in a run"),
        tr("Highest load"),
    )
    rows = tuple(_row(found, each, now, fuel) for each in _chosen(found, now))
    return Table(_caption(account, found, now), head, rows, frozenset(range(1, len(head))))


def _caption(account: Account, found: LimitAdvice, now: float | None) -> str:
    battery = account.review.site.battery
    counted = (
        Phrase("Time: until the battery has taken 1 kWh.")
        if found.per_kwh
        else Phrase(
            "Time: from the reserve of {reserve:%} to the target of {target:%}.",
            reserve=battery.reserve_soc,
            target=battery.target_soc,
        )
    )
    told = [
        tr("Settings, tried on the recorded load."),
        str(counted),
        tr("Highest load: share of what the generator can carry."),
    ]
    if not all(map(_known, _chosen(found, now))):
        told.append(tr("A dash: too little is recorded to tell."))
    return account.noted(" ".join(told))


def _chosen(found: LimitAdvice, now: float | None) -> list[Setting]:
    """Every other of those around the best, the best, the one that is set now, and the lowest that tripped."""
    around = list(shown_settings(found))
    middle = around.index(found.best) if found.best in around else 0
    kept = [each for number, each in enumerate(around) if (number - middle) % _AROUND == 0]
    tripped = next((each for each in found.settings if each.trips), None)
    kept += [each for each in (tripped, _set_now(found, now)) if each is not None]
    return sorted({each.limit_a: each for each in kept}.values(), key=lambda each: each.limit_a)


def _set_now(found: LimitAdvice, now: float | None) -> Setting | None:
    """The setting that was tried nearest to the limit that is set; None where it isn't known which is."""
    return (
        None if now is None else min(found.settings, key=lambda each: abs(each.limit_a - now), default=None)
    )


def _known(setting: Setting) -> bool:
    """True where the replay says anything of the chance of a trip."""
    return setting.trips > 0 or setting.chance <= SAYS_NOTHING


def _row(found: LimitAdvice, setting: Setting, now: float | None, fuel: bool) -> tuple[str, ...]:
    burnt = decimal(setting.fuel, 1) if math.isfinite(setting.fuel) else "–"
    chance = Phrase("up to {chance:%}", chance=at_most(setting))
    return (
        _mark(found, setting, now),
        current(setting.limit_a),
        duration(3600 * setting.hours),
        *((burnt,) if fuel else ()),
        str(setting.trips) if setting.trips else tr("none"),
        str(chance) if _known(setting) else "–",
        percent(100 * setting.peak),
    )


def _mark(found: LimitAdvice, setting: Setting, now: float | None) -> str:
    told = against(found, now)
    advised = found.best if told is None else told.advised
    marks = [tr("→ advised")] if setting is advised else []
    return ", ".join([*marks, *([tr("set now")] if setting is _set_now(found, now) else [])])
