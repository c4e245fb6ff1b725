"""What is compared of the generator's runs."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from desktop.charging.derating import rated_w
from desktop.comparison.currents import CURRENTS
from desktop.comparison.days import load_sd
from desktop.comparison.estimate import UNKNOWN, Estimate, highest_sd
from desktop.comparison.quantity import Quantity, doubt_of, rate, share, spread
from desktop.comparison.side import Floats, Side
from desktop.words import template

Way = Callable[[Side], Floats]

_WAYS: dict[str, tuple[Way, str]] = {
    "generator": (lambda side: side.series("generator"), "generator"),
    "to_load": (lambda side: side.way("generator", "load", "dc_load"), "load"),
    "to_battery": (lambda side: side.way("generator", "battery"), "battery"),
    "losses": (lambda side: side.way("generator", "losses"), "loss"),
    "solar_to_battery": (
        lambda side: side.way("solar", "battery") + side.way("solar_ac", "battery"),
        "battery",
    ),
}
"""Each part of a session's energy: its power minute by minute, and the stream whose meters tell it."""


def _energy(side: Side, name: str) -> float:
    """Wh of all sessions; NaN where there is none, or one isn't known."""
    amounts = [getattr(one, f"{name}_wh") for one in side.sessions]
    return float(sum(amounts)) if amounts else math.nan


def _hours(side: Side, power: Floats) -> float:
    hours = float(side.seconds[np.isfinite(power)].sum()) / 3600
    return hours if hours > 0 else math.nan


def _per_hour(name: str) -> Callable[[Side], Estimate]:
    def of(side: Side) -> Estimate:
        way, stream = _WAYS[name]
        power = way(side)
        return rate(side, _energy(side, name) / _hours(side, power), power, doubt_of(side, stream))

    return of


def _share(name: str) -> Callable[[Side], Estimate]:
    def of(side: Side) -> Estimate:
        way, stream = _WAYS[name]
        whole = _energy(side, "generator")
        value = _energy(side, name) / whole if whole > 0 else math.nan
        return share(side, value, way(side), side.series("generator"), doubt_of(side, stream))

    return of


def _load_share(side: Side) -> Estimate:
    mean, rated = _per_hour("generator")(side), rated_w(side.review.site) / 1000
    return Estimate(mean.value / rated, mean.chance / rated, mean.meters / rated) if rated > 0 else UNKNOWN


def _charge_power(side: Side) -> Estimate:
    power = side.series("battery")
    return rate(side, side.mean("battery"), power, doubt_of(side, "battery"))


def _peak(side: Side) -> Estimate:
    peaks = [one.peak_input_a for one in side.sessions if math.isfinite(one.peak_input_a)]
    if not peaks:
        return UNKNOWN
    percent = side.review.site.meter("generator_current").percent
    set_, volts = side.review.site.generator, side.review.learned.volts
    house_a = load_sd(side) / (volts * set_.legs) if volts > 0 else 0.0
    # Peaks that a limit cuts off lie so close together that the step in which they are read is more.
    chance = math.hypot(highest_sd(side.peaks), house_a, side.step(*CURRENTS))
    return Estimate(max(peaks), chance, percent / 100 * max(peaks))


def _setting(channel: str, section: str) -> Callable[[Side], Estimate]:
    def of(side: Side) -> Estimate:
        reported = side.setting(channel)
        stated = getattr(side.review.site, section).limit_a
        if math.isfinite(reported):
            return Estimate(reported)
        return UNKNOWN if stated is None else Estimate(stated)

    return of


def fuel_per_kwh(side: Side) -> Estimate:
    """Units of fuel for each kWh that the set gave, warming up and cooling down with it."""
    fuel = side.review.fuel
    if fuel.curve is None or not side.sessions:
        return UNKNOWN
    burnt = [fuel.sessions[number] for number in side.numbers]
    amount = sum(math.nan if one is None else one.amount for one in burnt)
    given = sum(math.nan if one is None else one.wh for one in burnt) / 1000
    if not amount / given > 0:
        return UNKNOWN
    power = side.series("generator")
    per_hour = fuel.curve.idle + fuel.curve.per_kwh * power / 1000
    value = amount / given
    return Estimate(value, spread(side, per_hour, power / 1000), fuel.curve.sd * value)


RUNNING = (
    Quantity(
        "generator_kwh_per_h",
        template("Generator, for each hour of running"),
        "kWh/h",
        _per_hour("generator"),
    ),
    Quantity(
        "to_load_kwh_per_h", template("Generator to the house, for each hour"), "kWh/h", _per_hour("to_load")
    ),
    Quantity(
        "to_battery_kwh_per_h",
        template("Generator to the battery, for each hour"),
        "kWh/h",
        _per_hour("to_battery"),
    ),
    Quantity("losses_kwh_per_h", template("Losses, for each hour of running"), "kWh/h", _per_hour("losses")),
    Quantity(
        "solar_to_battery_kwh_per_h",
        template("Sun to the battery, for each hour of running"),
        "kWh/h",
        _per_hour("solar_to_battery"),
    ),
    Quantity("load_share", template("Of the generator's power: to the house"), "share", _share("to_load")),
    Quantity(
        "battery_share", template("Of the generator's power: to the battery"), "share", _share("to_battery")
    ),
    Quantity("losses_share", template("Of the generator's power: lost"), "share", _share("losses")),
    Quantity("input_limit_a", template("AC input limit"), "A", _setting("input_limit", "input")),
    Quantity("peak_input_a", template("Highest input current"), "A", _peak),
    Quantity("mean_load_share", template("Mean load of what the generator can carry"), "share", _load_share),
    Quantity("charge_limit_a", template("Charger limit"), "A", _setting("charge_limit", "charger")),
    Quantity("charge_power_kw", template("Charge power, mean"), "kW", _charge_power),
)
