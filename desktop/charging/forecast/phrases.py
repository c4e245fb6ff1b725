"""A forecast in words."""

from __future__ import annotations

from datetime import tzinfo

from desktop.charging.forecast.forecast import Forecast, Target
from desktop.charging.forecast.limits import Limit
from desktop.words import Phrase, local, template

_LEAST_SPREAD_S = 120.0
_WIDE_S = 3600.0
_DAY_NS = 86_400_000_000_000

_GRAINS_S = ((600.0, 60), (2400.0, 300), (7200.0, 900), (4 * 3600.0, 1800), (float("inf"), 3600))
"""What is known to within the first is told to the second, s: a time that changes by less tells nothing new."""

_LIMITS: dict[Limit, str] = {
    "input limit": template("The AC input limit holds the charge."),
    "charger limit": template("The charger limit holds the charge."),
    "battery": template("The battery's highest charge current holds the charge."),
    "taper": template("The battery takes less and less as it fills."),
    "float": template("The charger is done: it only keeps the battery where it is (float)."),
}
_TURNS: dict[tuple[Limit, ...], str] = {
    ("input limit", "charger limit"): template(
        "The charger limit holds the charge, and the AC input limit whenever the house takes more."
    ),
    ("input limit", "battery"): template(
        "The battery's highest charge current holds the charge, and the AC input limit whenever the house takes "
        "more."
    ),
    ("charger limit", "battery"): template(
        "The charger limit and the battery's highest charge current hold the charge; they lie close together."
    ),
    ("input limit", "charger limit", "battery"): template(
        "The AC input limit, the charger limit and the battery's highest charge current hold the charge by turns."
    ),
}


_LONG = (
    (24, template("The tank will do for a day and more.")),
    (12, template("The tank will do for half a day and more.")),
)


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
    if when.high is None or when.low is None:
        time = clock_time(when.at, forecast.at, zone)
        return Phrase("{soc:%} at {time}, perhaps much later", soc=target.soc, time=time)
    spread = (when.high - when.low) / 2e9
    if spread > _WIDE_S:
        return Phrase(
            "{soc:%} between {low} and {high}",
            soc=target.soc,
            low=clock_time(when.low, forecast.at, zone, spread),
            high=clock_time(when.high, forecast.at, zone, spread),
        )
    return Phrase(
        "{soc:%} at {time}, give or take {spread:time}",
        soc=target.soc,
        time=clock_time(when.at, forecast.at, zone, spread),
        spread=_grained(max(_LEAST_SPREAD_S, spread), _grain_s(spread)),
    )


def untold_phrase(forecast: Forecast) -> Phrase:
    """That nothing can be said of when the battery is full; empty where it can, or it is full, or a nearer target
    says enough."""
    if not forecast.untold or forecast.targets:
        return Phrase("")
    return Phrase("When it will be full isn't known: lead-acid takes the last part ever more slowly.")


def tank_phrase(forecast: Forecast, zone: tzinfo) -> Phrase:
    """Whether the tank will do until the first target; empty where the tank isn't known."""
    tank = forecast.tank_empty
    if tank is None or tank.at is None or tank.low is None:
        return Phrase("")
    spread = ((tank.high or tank.at) - tank.low) / 2e9
    last = max((one.when.high or one.when.at or 0 for one in forecast.targets), default=0)
    for lasting, long in _LONG:
        if tank.low >= forecast.at + lasting * 3_600_000_000_000 and tank.low > last:
            return Phrase(long)
    time = clock_time(tank.at, forecast.at, zone, spread)
    first = forecast.targets[0].when if forecast.targets else None
    if first is not None and first.at is not None and first.at >= tank.at:
        return Phrase("The tank will not do: it is empty at {time}.", time=time)
    if first is not None and first.at is not None and (first.high is None or first.high >= tank.low):
        return Phrase("The tank may not do: it is empty at {time}.", time=time)
    return Phrase("The tank will do until {time}.", time=time)


def limit_phrase(forecast: Forecast) -> Phrase:
    """What holds the charge down."""
    return Phrase(_TURNS.get(forecast.limits) or _LIMITS[forecast.limited_by])


def clock_time(instant: int, said_at: int, zone: tzinfo, spread_s: float = 0.0) -> Phrase:
    """`14:52`, with the day where it isn't the one on which it is said; no finer than a spread (s) lets it."""
    grain = _grain_s(spread_s) * 1_000_000_000
    there, here = (
        local((instant + grain // 2) // grain * grain if spread_s > 0 else instant, zone),
        local(said_at, zone),
    )
    clock = there.strftime("%H:%M")
    if there.date() == here.date():
        return Phrase("{clock}", clock=clock)
    if there.date() == local(said_at + _DAY_NS, zone).date():
        return Phrase("{clock} tomorrow", clock=clock)
    return Phrase("{clock} on {day}", clock=clock, day=there.strftime("%Y-%m-%d"))


def _grain_s(spread_s: float) -> int:
    return next(grain for below, grain in _GRAINS_S if spread_s < below)


def _grained(seconds: float, grain: int) -> float:
    return max(float(grain), grain * round(seconds / grain))
