"""A forecast in words."""

from __future__ import annotations

from datetime import tzinfo

from desktop.charging.forecast.ceilings import Limit
from desktop.charging.forecast.forecast import Forecast, Span, Target
from desktop.words import Phrase, local, template

_LEAST_SPREAD_S = 120.0
_DAY_NS = 86_400_000_000_000

_LIMITS: dict[Limit, str] = {
    "input limit": template("The AC input limit holds the charge."),
    "charger limit": template("The charger limit holds the charge."),
    "battery": template("The battery's highest charge current holds the charge."),
    "taper": template("The battery takes less and less as it fills."),
}


def target_phrase(forecast: Forecast, target: Target, zone: tzinfo) -> Phrase:
    """`80 % at 14:52, give or take 6 min`; without a full stop, so that it can be a part of a sentence."""
    when = target.when
    if when.at is None:
        if when.low is None:
            return Phrase("{soc:%} will not be reached like this", soc=target.soc)
        return Phrase(
            "{soc:%} perhaps not at all, {time} at the earliest",
            soc=target.soc,
            time=clock_time(when.low, forecast.at, zone),
        )
    time = clock_time(when.at, forecast.at, zone)
    if when.high is None or when.low is None:
        return Phrase("{soc:%} at {time}, perhaps much later", soc=target.soc, time=time)
    return Phrase(
        "{soc:%} at {time}, give or take {spread:time}", soc=target.soc, time=time, spread=_spread_s(when)
    )


def tank_phrase(forecast: Forecast, zone: tzinfo) -> Phrase:
    """Whether the tank will do until the first target; empty where the tank isn't known."""
    tank = forecast.tank_empty
    if tank is None or tank.at is None or tank.low is None:
        return Phrase("")
    time = clock_time(tank.at, forecast.at, zone)
    first = forecast.targets[0].when if forecast.targets else None
    if first is not None and first.at is not None and first.at >= tank.at:
        return Phrase("The tank will not do: it is empty at {time}.", time=time)
    if first is not None and (first.high is None or first.high >= tank.low):
        return Phrase("The tank may not do: it is empty at {time}.", time=time)
    return Phrase("The tank will do until {time}.", time=time)


def limit_phrase(forecast: Forecast) -> Phrase:
    """What holds the charge down."""
    return Phrase(_LIMITS[forecast.limited_by])


def clock_time(instant: int, said_at: int, zone: tzinfo) -> Phrase:
    """`14:52`, with the day where it isn't the one on which it is said."""
    there, here = local(instant, zone), local(said_at, zone)
    clock = there.strftime("%H:%M")
    if there.date() == here.date():
        return Phrase("{clock}", clock=clock)
    if there.date() == local(said_at + _DAY_NS, zone).date():
        return Phrase("{clock} tomorrow", clock=clock)
    return Phrase("{clock} on {day}", clock=clock, day=there.strftime("%Y-%m-%d"))


def _spread_s(when: Span) -> float:
    """Half the range, in whole minutes."""
    if when.low is None or when.high is None:
        return float("nan")
    return max(_LEAST_SPREAD_S, 60.0 * round((when.high - when.low) / 2 / 60e9))
