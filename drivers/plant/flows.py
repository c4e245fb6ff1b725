"""How power divides in one moment, so that both buses and the converter close exactly."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from drivers.plant.inverter import Inverter


class Demand(NamedTuple):
    """What a moment asks for and has to offer, W.

    legs        house load per leg
    dc_load     load on the DC bus
    sun_dc, sun_ac  what the array could give
    battery_most    the most that the battery takes
    """

    legs: Sequence[float]
    dc_load: float
    sun_dc: float
    sun_ac: float
    battery_most: float


class Flows(NamedTuple):
    """What really flows, W. Signs as in the channel vocabulary; `source` is generator or grid, per leg."""

    source: tuple[float, ...]
    load: float
    converter_ac: float
    converter_dc: float
    solar: float
    solar_ac: float
    battery: float


def on_source(demand: Demand, ac_w: float, inverter: Inverter, *, export: bool) -> Flows:
    """The house hangs on a source, and the converter takes `ac_w` from the AC bus (negative: it helps out)."""
    legs, count = demand.legs, len(demand.legs)
    load = sum(legs)
    sun_ac = demand.sun_ac
    if sun_ac and not export:
        # A source that can't take power back makes the array throttle, leg by leg.
        sun_ac = max(0.0, min(sun_ac, count * (min(legs) + ac_w / count)))
    converter_dc = inverter.dc_of(ac_w)
    solar = max(0.0, min(demand.sun_dc, demand.battery_most + demand.dc_load - converter_dc))
    each = (ac_w - sun_ac) / count
    # What lies below nothing here is a rounding error, unless the source takes power back.
    source = tuple(watts + each if export else max(0.0, watts + each) for watts in legs)
    return Flows(source, load, ac_w, converter_dc, solar, sun_ac, solar + converter_dc - demand.dc_load)


def inverting(demand: Demand, inverter: Inverter, rated_w: float) -> Flows:
    """No source: the battery carries the house. An array on the AC side charges it through the converter."""
    load, sun_ac = sum(demand.legs), demand.sun_ac
    if sun_ac > load:
        most = inverter.ac_of(demand.battery_most + demand.dc_load)
        sun_ac = load + max(0.0, min(sun_ac - load, most, rated_w))
    ac_w = sun_ac - load
    converter_dc = inverter.dc_of(ac_w)
    solar = max(0.0, min(demand.sun_dc, demand.battery_most + demand.dc_load - converter_dc))
    nothing = (0.0,) * len(demand.legs)
    return Flows(nothing, load, ac_w, converter_dc, solar, sun_ac, solar + converter_dc - demand.dc_load)


def dark(demand: Demand) -> Flows:
    """The inverter has given up: the AC side is dead, the DC side goes on."""
    solar = max(0.0, min(demand.sun_dc, demand.battery_most + demand.dc_load))
    nothing = (0.0,) * len(demand.legs)
    return Flows(nothing, 0.0, 0.0, 0.0, solar, 0.0, solar - demand.dc_load)
