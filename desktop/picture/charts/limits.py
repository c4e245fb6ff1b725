"""The advised input limit as charts: time and the chance of a trip against every setting that was tried."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from desktop.charging.advice.advice import LimitAdvice
from desktop.charging.advice.settings import Setting
from desktop.picture.charts.chart import Axis, Chart, Curve, Dot, Stretch, Upright
from desktop.words import Phrase

TELLING = 0.3
"""Where nothing tripped and no more than this can be ruled out, the replay says nothing of the chance."""

_TOO_LONG = 6.0
"""Settings that take so many times as long as the quickest would only press the others flat."""


def hours_chart(advice: LimitAdvice, set_a: float | None) -> Chart | None:
    """How long a run takes at each setting, with those that tripped in the replay; None without settings.

    set_a  the limit that is set now, A; None where it isn't known
    """
    settings = shown(advice, set_a)
    if not settings:
        return None
    unit = Phrase("Minutes for each kWh") if advice.per_kwh else Phrase("Hours to the target")
    factor = 60.0 if advice.per_kwh else 1.0
    x = np.array([each.limit_a for each in settings])
    y = np.array([each.hours * factor for each in settings])
    dots = tuple(
        Dot(
            Phrase("tripped in the replay") if each.trips else Phrase("no trip in the replay"),
            "act now" if each.trips else "load",
            each.limit_a,
            each.hours * factor,
            "cross" if each.trips else "disc",
        )
        for each in settings
    )
    return Chart(
        title=unit,
        x=_amperes(settings, advice, set_a),
        y=Axis.over(unit, 0.0, float(y.max())),
        told=_told(advice, set_a),
        curves=(Curve(Phrase(""), "muted", x, y),),
        dots=(*dots, *_set_now(settings, set_a, factor)),
        uprights=_uprights(advice, set_a),
        stretches=_usual(advice),
    )


def chance_chart(advice: LimitAdvice, set_a: float | None) -> Chart | None:
    """The chance of a trip in one run; None where the replay says nothing of it at any setting."""
    settings = shown(advice, set_a)
    told = [each for each in settings if tells(each)]
    if not told:
        return None
    dots = tuple(
        Dot(
            Phrase("counted in the replay") if each.trips else Phrase("at most"),
            "act now" if each.trips else "load",
            each.limit_a,
            100 * each.chance,
            "cross" if each.trips else "ring",
        )
        for each in told
    )
    title = Phrase("Chance of a trip in a run, %")
    return Chart(
        title=title,
        x=_amperes(settings, advice, set_a),
        y=Axis.over(title, 0.0, 100.0, 25.0),
        told=Phrase("Settings of which the replay tells the chance: {count:d}.", count=len(told)),
        dots=dots,
        uprights=_uprights(advice, set_a),
    )


def tells(setting: Setting) -> bool:
    """Whether the replay says anything of the chance at this setting."""
    return setting.trips > 0 or setting.chance <= TELLING


def shown(advice: LimitAdvice, set_a: float | None = None) -> tuple[Setting, ...]:
    """The settings that are drawn; the one nearest to what is set now is among them, however long it takes."""
    known = [each for each in advice.settings if math.isfinite(each.hours)]
    if not known:
        return ()
    least = min(each.hours for each in known)
    now = None if set_a is None else _nearest(known, set_a)
    return tuple(each for each in known if each.hours <= _TOO_LONG * least or each is now)


def _nearest(settings: Sequence[Setting], set_a: float) -> Setting:
    return min(settings, key=lambda each: abs(each.limit_a - set_a))


def _set_now(settings: Sequence[Setting], set_a: float | None, factor: float) -> tuple[Dot, ...]:
    """A ring around the setting that is set now; none where it lies beyond those that were tried."""
    if set_a is None or not settings[0].limit_a <= set_a <= settings[-1].limit_a:
        return ()
    now = _nearest(settings, set_a)
    return (Dot(Phrase("set now"), "text", now.limit_a, now.hours * factor, "ring"),)


def _amperes(settings: tuple[Setting, ...], advice: LimitAdvice, set_a: float | None) -> Axis:
    marked = [each for each in (set_a, advice.full_load_a) if each is not None]
    low = min([each.limit_a for each in settings] + marked)
    high = max([each.limit_a for each in settings] + marked)
    return Axis.over(Phrase("AC input limit, A per leg"), low, high)


def _uprights(advice: LimitAdvice, set_a: float | None) -> tuple[Upright, ...]:
    found = []
    best = None if advice.best is None else advice.best.limit_a
    if best is not None and best == set_a:
        found.append(Upright(Phrase("advised, as set now: {limit:A}", limit=best), "text", best))
    elif best is not None:
        found.append(Upright(Phrase("advised {limit:A}", limit=best), "text", best))
    if set_a is not None and set_a != best:
        found.append(Upright(Phrase("set now {limit:A}", limit=set_a), "muted", set_a, dashed=True))
    if math.isfinite(advice.full_load_a):
        found.append(
            Upright(
                Phrase("full load {limit:A}", limit=advice.full_load_a),
                "muted",
                advice.full_load_a,
                dashed=True,
            )
        )
    return tuple(found)


def _usual(advice: LimitAdvice) -> tuple[Stretch, ...]:
    if not math.isfinite(advice.usual_a[0]):
        return ()
    return (Stretch(Phrase("usual practice"), *advice.usual_a),)


def _told(advice: LimitAdvice, set_a: float | None) -> Phrase:
    best = advice.best
    if best is None:
        return Phrase("No setting can be advised.")
    return Phrase(
        "Advised {best:A}; set now {now:A}; full load {full:A}.",
        best=best.limit_a,
        now=math.nan if set_a is None else set_a,
        full=advice.full_load_a,
    )
