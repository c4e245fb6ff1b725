"""What the AC input limit should be: every setting tried on the recorded load, and the best of them named."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.advice.charger import USUAL_BACK_OFF, BackOff, most_w
from desktop.charging.advice.endurance import USUAL_ENDURANCE, Endurance
from desktop.charging.advice.house import COARSEST_S, House
from desktop.charging.advice.settings import Bench, Setting, tried
from desktop.charging.derating import rated_w
from desktop.charging.fuel.curve import FuelCurve, fuel_curve
from desktop.flow.learned import Learned
from desktop.site import Site
from desktop.words import Phrase

LEAST_HOURS = 0.5
"""What is recorded of the house in less time than this says too little of its load steps."""

USUAL_SHARES = (0.8, 0.9)
"""A small buffer below full-load amperes is what is usually set (common practice, no source)."""

USUAL_RUN_H = 2.0
"""How long a run is where what is missing to the target isn't known (assumed)."""

TRIP_COSTS_H = 3.0
"""A trip is as bad as so many hours more of running (assumed): the house goes dark and somebody has to go out."""

MOST_CHANCE = 0.15
"""A setting that is more likely than this to trip in a run isn't advised."""

LONG_H = 12.0
"""After fewer recorded hours, only settings that hardly ever would have tripped are advised."""

_HARDLY = 0.3
_BUFFER = 0.95
"""However quiet the house, so much of full load is the most that is advised: a small buffer (common practice)."""

_LOWEST, _HIGHEST, _STEP = 0.4, 1.1, 0.025
_FINE_A = 0.5
_GAINS_NOTHING = 1.03


@dataclass(frozen=True, slots=True)
class LimitAdvice:
    """The advice.

    best        the setting to take; None where it can't be told, `unknown` then says why
    settings    all that were tried, in rising order
    full_load_a full-load current per leg at what the set can carry where it stands, A
    usual_a     what is usually set, lowest and highest, A
    hours       recorded hours that it rests on
    per_kwh     True where hours and fuel are for each kWh, because what is missing to the target isn't known
    """

    best: Setting | None
    unknown: Phrase
    settings: tuple[Setting, ...] = ()
    full_load_a: float = math.nan
    usual_a: tuple[float, float] = (math.nan, math.nan)
    hours: float = math.nan
    per_kwh: bool = True
    back_off: BackOff = USUAL_BACK_OFF
    endurance: Endurance = USUAL_ENDURANCE
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Shown:
    """What the rows of a review show that matters here.

    time      (n,) UTC nanoseconds
    load      (n,) reconciled load, W; NaN where not known
    uneven    load of the busiest leg over the mean of the legs, 1 or more
    need_wh   what the battery still takes until its target, Wh; NaN where not known
    """

    time: NDArray[np.int64]
    load: NDArray[np.float32]
    uneven: float = 1.0
    need_wh: float = math.nan
    back_off: BackOff = USUAL_BACK_OFF
    endurance: Endurance = USUAL_ENDURANCE


def advise(shown: Shown, learned: Learned, site: Site, curve: FuelCurve | None = None) -> LimitAdvice:
    """The advice for a plant and what was recorded of it. A pure function.

    curve  the set's fuel curve; None for the sheet's or a published one
    """
    carried, volts = rated_w(site), learned.volts
    if not carried > 0:
        return LimitAdvice(
            None, Phrase("The site sheet doesn't say what the generator can carry (generator rated_w).")
        )
    if not volts > 0:
        return LimitAdvice(None, Phrase("The generator's voltage isn't known (generator volts)."))
    house = House.of(shown.time, shown.load, learned.interval_s, learned.gap_s)
    generator = site.generator
    watts_per_a = volts * generator.legs * generator.power_factor
    full_load_a = carried / watts_per_a
    usual_a = (USUAL_SHARES[0] * full_load_a, USUAL_SHARES[1] * full_load_a)
    if house is None or house.hours < LEAST_HOURS:
        why = Phrase(
            "To judge the house's load steps takes readings every {coarsest:time} or oftener, over half an hour or"
            " more, of the house's load.",
            coarsest=COARSEST_S,
        )
        return LimitAdvice(None, why, full_load_a=full_load_a, usual_a=usual_a)
    per_kwh = not shown.need_wh > 0
    bench = Bench(
        house=house,
        rated_w=carried,
        watts_per_a=watts_per_a,
        uneven=shown.uneven,
        most_w=most_w(site, learned),
        idle_w=learned.conversion.idle_w,
        slope=learned.conversion.slope,
        back_off=shown.back_off,
        endurance=shown.endurance,
        need_wh=1000.0 if per_kwh else shown.need_wh,
        run_h=USUAL_RUN_H if per_kwh else math.nan,
        curve=curve or fuel_curve(site),
    )
    settings = tuple(tried(bench, limit) for limit in _candidates(full_load_a))
    return LimitAdvice(
        best=_best(settings, full_load_a, house.hours),
        unknown=Phrase(""),
        settings=settings,
        full_load_a=full_load_a,
        usual_a=usual_a,
        hours=house.hours,
        per_kwh=per_kwh,
        back_off=shown.back_off,
        endurance=shown.endurance,
        unit=bench.curve.unit if bench.curve is not None else "",
    )


def _candidates(full_load_a: float) -> list[float]:
    """Settings in steps of a fortieth of full load, as they can be set: in half amperes."""
    shares = np.arange(_LOWEST, _HIGHEST + _STEP / 2, _STEP)
    rounded = np.floor(shares * full_load_a / _FINE_A) * _FINE_A
    return [float(limit) for limit in np.unique(rounded) if limit > 0]


def _best(settings: tuple[Setting, ...], full_load_a: float, recorded_h: float) -> Setting | None:
    """The lowest of the settings that cost about the least in hours and trips, of those that may be advised."""
    allowed = [each for each in settings if each.limit_a <= _BUFFER * full_load_a and _fit(each, recorded_h)]
    if not allowed:
        return None
    least = min(map(_cost_h, allowed))
    return next(each for each in allowed if _cost_h(each) <= _GAINS_NOTHING * least)


def _fit(setting: Setting, recorded_h: float) -> bool:
    if not math.isfinite(setting.hours):
        return False
    likely = recorded_h >= LONG_H and setting.chance <= MOST_CHANCE
    return likely or setting.expected <= _HARDLY


def _cost_h(setting: Setting) -> float:
    """What a charge costs, in hours."""
    return setting.hours * (1 + TRIP_COSTS_H * setting.per_hour)
