"""One step of the plant for many runs at once: how power divides so that both buses and the converter close.

    AC bus      generator + sun_ac − cut − load served − converter_ac = 0
    converter   converter_ac − converter_dc = idle + slope · (power on the side that feeds it)
    DC bus      sun_dc − cut + converter_dc − into the battery + out of it − DC load served = 0

Where the battery is down to its reserve and no generator runs, the house is dark for a share of the step: for that
share nothing is served and lost, and the sun on the DC side goes into the battery alone.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from desktop.charging.outlook.plants import Plants
from desktop.charging.outlook.rule import SLOT_S

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

STEP_H = SLOT_S / 3600


class Weather(NamedTuple):
    """What a step asks for and could have, W; arrays that broadcast against the runs."""

    load: Floats
    dc_load: Floats
    sun_dc: Floats
    sun_ac: Floats


class Flows(NamedTuple):
    """Means over a step, W, all ≥ 0 but `change`.

    generator  what it gives
    unserved   what the house asked for and didn't get, AC and DC side together
    cut        what solar could have given and nobody took
    lost       in the converter and, on the way in, in the battery
    change     of what the battery can give
    """

    generator: Floats
    unserved: Floats
    cut: Floats
    lost: Floats
    change: Floats


def step(plants: Plants, limit_w: Floats, stored: Floats, on: Flags, weather: Weather) -> Flows:
    """Work one step of SLOT_S seconds through.

    limit_w  what the input limit lets through and the set can carry, W
    stored   what the battery can give at the step's beginning, Wh
    on       where the generator runs
    """
    load, dc_load, sun_dc, sun_ac = weather
    plant, keep = plants.usual, 1 - plants.slope
    efficiency, into_most = _takes(plants, stored)
    out_most = np.maximum(stored - plants.reserve_wh, 0.0) / STEP_H
    need = load - sun_ac
    through = np.where(
        on,
        _charging(plants, limit_w - need - plant.generator.uneven * load, into_most + dc_load - sun_dc),
        np.clip(-need, -plant.converter.inverter_w, plant.converter.charger_ac_w),
    )
    onto_dc = np.where(through >= 0, through * keep - plants.idle_w, (through - plants.idle_w) * (1 / keep))
    net = sun_dc + onto_dc - dc_load
    surplus = np.maximum(net, 0.0)
    into = np.minimum(surplus, into_most)
    over = surplus - into
    cut = np.minimum(over, sun_dc)
    # What the battery doesn't take of AC-coupled sun is not taken from the AC bus either.
    back = over - cut
    through, onto_dc = through - back / keep, onto_dc - back
    bus = need + through
    generator = np.where(on, np.minimum(np.maximum(bus, 0.0), plant.generator.rated_w), 0.0)
    left = bus - generator
    unserved, cut = np.maximum(left, 0.0), cut + np.maximum(-left, 0.0)
    lost = through - onto_dc
    deficit = surplus - net
    out = np.minimum(deficit, out_most)
    if (deficit > out).any():
        dark = _dark(on, deficit, out)
        spilt = dark * np.minimum(sun_dc, into_most)
        unserved = unserved + np.where(on, deficit - out, dark * (load - unserved + dc_load))
        cut = cut + dark * (sun_dc + sun_ac - cut) - spilt
        lost, into = lost * (1 - dark), into + spilt
    kept = into * efficiency
    return Flows(generator, unserved, cut, lost + (into - kept), kept - out)


def _takes(plants: Plants, stored: Floats) -> tuple[Floats, Floats]:
    """The share that the battery keeps of what goes in, and the most that it takes, W."""
    battery, taper_wh = plants.usual.battery, plants.taper_wh
    missing = plants.capacity_wh - stored
    willing = np.minimum(missing / taper_wh, 1.0) if battery.taper_soc < 100 else np.ones_like(stored)
    efficiency = plants.efficiency
    if battery.efficiency_full != battery.efficiency:
        efficiency = plants.efficiency_full + (plants.efficiency - plants.efficiency_full) * willing
    room = np.maximum(missing, 0.0) / (efficiency * STEP_H)
    return efficiency, np.minimum(np.maximum(willing, battery.least_share) * battery.charge_w, room)


def _charging(plants: Plants, room_w: Floats, dc_room_w: Floats) -> Floats:
    """What the converter takes from the generator's bus, W: what the limit leaves, and the DC side wants."""
    converter, keep = plants.usual.converter, 1 - plants.slope
    dc_most = np.minimum(dc_room_w, converter.charger_dc_w)
    most = np.minimum((dc_most + plants.idle_w) / keep, converter.charger_ac_w)
    taken: Floats = np.maximum(np.minimum(room_w, most), plants.idle_w / keep)
    return taken


def _dark(on: Flags, deficit: Floats, out: Floats) -> Floats:
    """The share of the step in which the house is dark for want of energy."""
    asked = np.where(deficit > 0, deficit, 1.0)
    share: Floats = np.where(on | (deficit <= out), 0.0, 1.0 - out / asked)
    return share
