"""What the AC input limit should be: every setting tried on the recorded load, and the best of them named."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from desktop.charging.advice.charger import ASSUMED_HELD, USUAL_BACK_OFF, BackOff, Held, most_w
from desktop.charging.advice.endurance import USUAL_ENDURANCE, Endurance
from desktop.charging.advice.house import COARSEST_S, House
from desktop.charging.advice.legs import EVEN, Uneven
from desktop.charging.advice.settings import Bench, Setting, no_safer_higher, tried
from desktop.charging.advice.taking import NOTHING_SEEN, Taking
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

MOST_CHANCE = 0.2
"""A setting that is more likely than this to trip in a run isn't advised."""

LONG_H = 12.0
"""After fewer recorded hours, only settings that hardly ever would have tripped are advised."""

_HARDLY = 0.3
_BUFFER = 0.03
"""However well a charger holds its limit, so much of full load stays free (a small buffer: common practice)."""

_SURE = 2.0
"""In so many standard deviations."""

_UNSEEN = Phrase(
    "The generator carried no load in this recording: how the charger follows its limit and what the "
    "generator endures are"
    " assumed, so no setting is advised. The table shows what would be by what is assumed."
)

_LOWEST, _HIGHEST, _STEP = 0.4, 1.05, 0.025
_MOST_SHARE = 1.1
_ROUNDING = 1e-9
_FINE_A, _FINEST_A, _SMALL_A = 0.5, 0.1, 20.0
_GAINS_NOTHING = 1.01


@dataclass(frozen=True, slots=True)
class LimitAdvice:
    """The advice.

    best        the setting to take; None where it can't be told, `unknown` then says why
    settings    all that were tried, in rising order
    full_load_a full-load current per leg at what the set can carry where it stands, A
    usual_a     what is usually set, lowest and highest, A
    hours       recorded hours that it rests on
    per_kwh     True where hours and fuel are for each kWh, because what is missing to the target isn't known
    highest_a   the highest limit that may be advised: the input stays surely below full load while charging, and
                neither full load nor what is usual for the input circuit is exceeded by the limit itself, A
    legs        of the generator; limits are per leg
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
    held: Held = ASSUMED_HELD
    highest_a: float = math.nan
    legs: int = 1


@dataclass(frozen=True, slots=True)
class Shown:
    """What the rows of a review show that matters here.

    time      (n,) UTC nanoseconds
    load      (n,) reconciled load, W; NaN where not known
    uneven    how the house's load lies on the legs
    need_wh   what the battery still takes until its target, Wh; NaN where not known
    untold    when the set went dead as a load came on, without an overload that readings show, UTC nanoseconds
    running_h how long the set ran in all, h
    taking    what the battery took
    """

    time: NDArray[np.int64]
    load: NDArray[np.float32]
    uneven: Uneven = EVEN
    need_wh: float = math.nan
    back_off: BackOff = USUAL_BACK_OFF
    endurance: Endurance = USUAL_ENDURANCE
    held: Held = ASSUMED_HELD
    untold: tuple[int, ...] = ()
    running_h: float = math.nan
    set_a: float = math.nan
    taking: Taking = NOTHING_SEEN


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
    house = House.of(shown.time, shown.load, learned.interval_s, learned.gap_s, site.site.timezone)
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
        return LimitAdvice(None, why, full_load_a=full_load_a, usual_a=usual_a, legs=generator.legs)
    per_kwh = not shown.need_wh > 0
    measured = math.isfinite(shown.taking.gained)
    bench = Bench(
        house=house,
        rated_w=carried,
        watts_per_a=watts_per_a,
        uneven=shown.uneven,
        most_w=most_w(site, learned),
        gained=shown.taking.gained if measured else 1.0 - learned.conversion.slope,
        idle_w=0.0 if measured else learned.conversion.idle_w,
        way=_way(shown.taking, site, math.nan if per_kwh else shown.need_wh),
        back_off=shown.back_off,
        held=shown.held,
        endurance=shown.endurance,
        need_wh=1000.0 if per_kwh else shown.need_wh,
        run_h=USUAL_RUN_H if per_kwh else math.nan,
        curve=curve or fuel_curve(site),
    )
    highest_a = _highest_a(site, shown.held, full_load_a)
    limits = _candidates(full_load_a, shown.held.below_a, highest_a)
    if shown.set_a > 0:
        limits = sorted({*limits, shown.set_a})
    settings = tuple(no_safer_higher(tried(bench, limit) for limit in limits))
    advice = LimitAdvice(
        best=None,
        unknown=Phrase(""),
        settings=settings,
        full_load_a=full_load_a,
        usual_a=usual_a,
        hours=house.hours,
        per_kwh=per_kwh,
        back_off=shown.back_off,
        endurance=shown.endurance,
        unit=bench.curve.unit if bench.curve is not None else "",
        held=shown.held,
        highest_a=highest_a,
        legs=generator.legs,
    )
    if shown.untold:
        return _untold(advice, shown)
    if shown.running_h == 0:
        return replace(advice, unknown=_UNSEEN)
    return replace(advice, best=_best(settings, highest_a, house.hours))


def _highest_a(site: Site, held: Held, full_load_a: float) -> float:
    kept_free = max(_BUFFER, _SURE * held.doubt) * full_load_a
    # A meter that reads too little looks like a charger that holds the input far below its limit.
    circuit_a = USUAL_SHARES[0] * (site.input.circuit_a or math.inf)
    return min(full_load_a - kept_free + held.below_a, full_load_a, circuit_a)


def _way(taking: Taking, site: Site, need_wh: float) -> tuple[tuple[float, float], ...]:
    """The parts of the way to the target; one where it isn't known how far that is."""
    battery = site.battery
    if battery.capacity_kwh is None or not need_wh > 0:
        return ((1.0, math.inf),)
    start = max(0.0, battery.target_soc - need_wh / (10.0 * battery.capacity_kwh))
    return tuple(taking.parts(start, battery.target_soc))


def _untold(advice: LimitAdvice, shown: Shown) -> LimitAdvice:
    """No advice, because the set tripped without what the readings show explaining it."""
    why = Phrase(
        "The generator stopped {times} as a load came on, in {hours:.1f} hours of running: what that load "
        "draws in its"
        " first second, or that the generator carries less than it says, isn't in the readings. So no "
        "setting can be"
        " advised; a lower one leaves more room.",
        times=Phrase("once")
        if len(shown.untold) == 1
        else Phrase("{count:d} times", count=len(shown.untold)),
        hours=shown.running_h,
    )
    settings = tuple(each.with_stops(len(shown.untold), shown.running_h) for each in advice.settings)
    return replace(advice, unknown=why, settings=settings)


def _candidates(full_load_a: float, below_a: float, highest_a: float) -> list[float]:
    """Settings that hold the input at rising shares of full load, as they can be set."""
    fine = _FINE_A if full_load_a >= _SMALL_A else _FINEST_A
    shares = np.arange(_LOWEST, _HIGHEST + _STEP / 2, _STEP)
    limits = np.append(shares * full_load_a + below_a, highest_a)
    rounded = np.round(np.floor(limits / fine + _ROUNDING) * fine, 3)
    return [float(limit) for limit in np.unique(rounded) if 0 < limit <= _MOST_SHARE * full_load_a]


def _best(settings: tuple[Setting, ...], highest_a: float, recorded_h: float) -> Setting | None:
    """The lowest of the settings that cost about the least in hours and trips, of those that may be advised."""
    allowed = [each for each in settings if each.limit_a <= highest_a + _ROUNDING and _fit(each, recorded_h)]
    if not allowed:
        return None
    least = min(map(cost_h, allowed))
    return next(each for each in allowed if cost_h(each) <= _GAINS_NOTHING * least)


def _fit(setting: Setting, recorded_h: float) -> bool:
    if not math.isfinite(setting.hours):
        return False
    seldom = recorded_h >= LONG_H and setting.likely <= MOST_CHANCE
    return seldom or setting.expected <= _HARDLY


def cost_h(setting: Setting) -> float:
    """What a charge costs, in hours: those of running, and those that a trip is as bad as."""
    return setting.hours * (1.0 + TRIP_COSTS_H * setting.likely_per_hour)
