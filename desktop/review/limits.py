"""The values of an instant, held against the limits that the diagnosis judges them by."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from desktop.diagnosis import bands
from desktop.diagnosis.battery import compensation_v, highest_charge_v
from desktop.diagnosis.limits import tripping
from desktop.diagnosis.plant import Plant
from desktop.review.moment import BatteryNow, GeneratorNow, LimitNow, LimitState
from desktop.words import Phrase

NEAR = 0.10
"""Within this share of the way up to a limit, or between two limits, a value is near it."""

_NAN = math.nan


@dataclass(frozen=True, slots=True)
class Flows:
    """What limits need of the streams, W; NaN where not known.

    charger         what the inverter-charger gives to the DC bus
    charge_limit_a  the charger's limit as it is set
    """

    generator: float
    charger: float
    battery: float
    charge_limit_a: float


@dataclass(frozen=True, slots=True)
class _Scale:
    """A value's limits and where it is drawn. `over` times `upper` is where the diagnosis begins to count."""

    upper: float = _NAN
    lower: float = _NAN
    over: float = 1.0
    lowest: float = 0.0
    highest: float = _NAN
    assumed: bool = False


def limits(
    plant: Plant, generator: GeneratorNow, battery: BatteryNow, flows: Flows, *, has_generator: bool
) -> tuple[LimitNow, ...]:
    """Every limit that can be told of, in the order in which they are shown."""
    found: list[LimitNow] = []
    if has_generator:
        found += [*_input_currents(plant, generator), _generator_load(plant, flows)]
    found += _charge_current(plant, battery, flows)
    found += _battery_voltage(plant, battery)
    found += _battery_temperature(plant, battery, flows)
    if has_generator:
        found += [*_frequency(plant, generator), *_voltages(plant, generator)]
    return tuple(found)


def _input_currents(plant: Plant, generator: GeneratorNow) -> list[LimitNow]:
    limit = _NAN if generator.limit_a is None else generator.limit_a
    scale = _Scale(limit, over=_tripping(plant, "generator_current"), highest=1.25 * limit)
    legs = generator.leg_currents
    if len(legs) < 2:
        return [_held("input_current", Phrase("Input current"), generator.current, scale, "A")]
    return [
        _held(f"input_current_l{leg}", Phrase("Input current L{leg:d}", leg=leg), value, scale, "A")
        for leg, value in enumerate(legs, start=1)
    ]


def _generator_load(plant: Plant, flows: Flows) -> LimitNow:
    over = _tripping(plant, "generator_power", plant.rated_w)
    scale = _Scale(100.0 if plant.rated_w > 0 else _NAN, over=over, highest=125.0)
    return _held(
        "generator_load", Phrase("Generator load"), 100 * flows.generator / plant.rated_w, scale, "%"
    )


def _charge_current(plant: Plant, battery: BatteryNow, flows: Flows) -> list[LimitNow]:
    """The charger against its limit or the battery against its maximum, whichever is closer."""
    by_charger = flows.charger / battery.voltage if battery.voltage > 1 else _NAN
    pairs = [(by_charger, flows.charge_limit_a), (battery.current, plant.battery_a)]
    bounded = [(value, limit) for value, limit in pairs if limit > 0]
    if not bounded and math.isnan(battery.current):
        return []
    value, limit = max(bounded, key=_share) if bounded else (battery.current, _NAN)
    # What flows out of the battery is no charge.
    value = value if math.isnan(value) else max(0.0, value)
    scale = _Scale(limit, over=_tripping(plant, "battery_current"), highest=1.25 * limit)
    return [_held("charge_current", Phrase("Charge current"), value, scale, "A")]


def _share(pair: tuple[float, float]) -> float:
    value, limit = pair
    return -math.inf if math.isnan(value) else value / limit


def _battery_voltage(plant: Plant, battery: BatteryNow) -> list[LimitNow]:
    level, cells = highest_charge_v(plant.site.battery)
    if math.isnan(battery.voltage) and not level > 0:
        return []
    if plant.lead_acid and cells:
        level += float(compensation_v(np.array(battery.temperature), cells))
    nominal = plant.site.battery.nominal_v or level
    assumed = plant.site.battery.absorb_v is None
    scale = _Scale(level, lowest=0.85 * nominal, highest=1.03 * level, assumed=assumed)
    return [_held("battery_voltage", Phrase("Battery voltage"), battery.voltage, scale, "V")]


def _battery_temperature(plant: Plant, battery: BatteryNow, flows: Flows) -> list[LimitNow]:
    sheet = plant.site.battery
    if math.isnan(battery.temperature):
        return []
    hottest = _NAN if sheet.max_charge_c is None else sheet.max_charge_c
    scale = _Scale(
        hottest, plant.coldest_charge_c, lowest=-20.0, highest=60.0, assumed=sheet.min_charge_c is None
    )
    # Only charging is bound to these temperatures.
    judged = flows.battery > plant.trickle_w
    label = Phrase("Battery temperature")
    return [_held("battery_temperature", label, battery.temperature, scale, "°C", judged=judged)]


def _frequency(plant: Plant, generator: GeneratorNow) -> list[LimitNow]:
    if math.isnan(generator.frequency):
        return []
    low, high = bands.LOWEST_HZ * plant.hz, bands.HIGHEST_HZ * plant.hz
    assumed = not plant.site.given("generator", "hz")
    scale = _Scale(high, low, lowest=0.9 * plant.hz, highest=1.1 * plant.hz, assumed=assumed)
    judged = generator.running is True
    label = Phrase("Frequency")
    return [_held("generator_frequency", label, generator.frequency, scale, "Hz", judged=judged)]


def _voltages(plant: Plant, generator: GeneratorNow) -> list[LimitNow]:
    if math.isnan(generator.voltage):
        return []
    low, high = bands.LOWEST_V * plant.volts, bands.HIGHEST_V * plant.volts
    assumed = not plant.site.given("generator", "volts")
    scale = _Scale(high, low, lowest=0.8 * plant.volts, highest=1.2 * plant.volts, assumed=assumed)
    judged = generator.running is True
    legs = generator.leg_voltages
    if len(legs) < 2:
        label = Phrase("Voltage")
        return [_held("generator_voltage", label, generator.voltage, scale, "V", judged=judged)]
    return [
        _held(
            f"generator_voltage_l{leg}", Phrase("Voltage L{leg:d}", leg=leg), value, scale, "V", judged=judged
        )
        for leg, value in enumerate(legs, start=1)
    ]


def _tripping(plant: Plant, channel: str, full_scale: float = _NAN) -> float:
    return tripping(plant, plant.meter_margin(channel, full_scale)).stages[0].factor


def _held(
    key: str, label: Phrase, value: float, scale: _Scale, unit: str, *, judged: bool = True
) -> LimitNow:
    """A value on its scale. `judged` False where the limits don't apply now."""
    lowest, highest = scale.lowest, scale.highest
    if math.isnan(highest):
        highest = 1.25 * value if value > 0 else 1.0
    if math.isnan(lowest):
        lowest = 0.0
    upper, lower = (None if math.isnan(one) else one for one in (scale.upper, scale.lower))
    state = _state(value, scale, judged=judged)
    assumed = scale.assumed and not (upper is None and lower is None)
    return LimitNow(key, label, value, lower, upper, lowest, highest, unit, state, assumed)


def _state(value: float, scale: _Scale, *, judged: bool) -> LimitState:
    upper, lower = scale.upper, scale.lower
    if math.isnan(value) or (math.isnan(upper) and math.isnan(lower)):
        return "not known"
    if not judged:
        return "ok"
    if value > upper * scale.over or value < lower:
        return "over"
    base = scale.lowest if math.isnan(lower) else lower
    top = scale.highest if math.isnan(upper) else upper
    width = NEAR * (top - base)
    return "near" if value >= upper - width or value < lower + width else "ok"
