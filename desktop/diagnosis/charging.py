"""A battery that gets nothing, or even gives, while the generator runs."""

from __future__ import annotations

from functools import partial

import numpy as np

from desktop.charging.usual_times import WARM_UP_S
from desktop.diagnosis.alarm import Event, Stage, Treatment
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.rows import Rows, applied, known
from desktop.diagnosis.watch import Floats, Reading, Told, Watch, during
from desktop.words import Phrase

WELL_BELOW = 10.0
"""Percentage points below the target at which a battery should be charging."""

_LEAST_HEADROOM_SHARE, _LEAST_HEADROOM_W = 0.2, 500.0


def charger_idle(plant: Plant) -> Watch:
    """The battery takes nothing for minutes, though it is far from full and the generator has room.

    Not told where the charger is switched off, where the state of charge isn't known, or where neither an input
    limit nor a rating tells how much room there is.
    """
    return Watch(
        "charger_idle",
        Treatment((Stage(300.0),), 60.0, plant.hold_s, deadband=0.5 * plant.trickle_w, below=True),
        _charge,
        partial(_tell_idle, plant),
        applies=lambda rows: rows.any_carrying,
    )


def _charge(rows: Rows) -> Reading | None:
    plant = rows.plant
    most = np.fmin(rows.input_limit * plant.volts * rows.legs, plant.rated_w)
    room = most - rows.generator
    needed = np.maximum(_LEAST_HEADROOM_W, _LEAST_HEADROOM_SHARE * most)
    wanting = rows.soc < plant.site.battery.target_soc - WELL_BELOW
    idle = rows.carrying & wanting & (room > needed) & (rows.charger_on != 0)
    power = rows.power("battery")
    value = applied(power, known(idle, rows.generator, rows.soc, room), below=True)
    context = {
        "soc": rows.soc,
        "room": room,
        "generator": rows.generator,
        "celsius": rows.block.channel("battery_temperature"),
        "enabled": rows.charger_on,
    }
    return Reading(value, plant.trickle_w, context)


def _tell_idle(plant: Plant, event: Event) -> Told:
    at = event.at_start
    cause = Phrase("")
    if at["celsius"] < plant.coldest_charge_c:
        cause = Phrase("The battery was at {celsius:°C}, too cold to be charged.", celsius=at["celsius"])
    elif np.isnan(at["enabled"]):
        cause = Phrase("The record doesn't tell whether the charger was switched on.")
    return Told(
        channel="battery_power",
        peak=event.peak,
        threshold=event.threshold,
        unit="W",
        title=Phrase("Charger idle"),
        text=Phrase(
            "The battery, at {soc:%}, took nothing while the generator carried {generator:W} and had room for "
            "{room:W} more{during}.",
            soc=at["soc"],
            generator=at["generator"],
            room=at["room"],
            during=during(event),
        ),
        cause=cause,
        advice=Phrase(
            "See whether the charger is switched on, whether its limit is above zero, and whether the battery "
            "refuses: temperature, full cells, or its own switch."
        ),
    )


def battery_discharging_on_generator(plant: Plant) -> Watch:
    """The battery gives power for a minute while a warm generator carries load."""
    return Watch(
        "battery_discharging_on_generator",
        Treatment((Stage(60.0),), 60.0, plant.hold_s, deadband=0.5 * plant.trickle_w),
        _discharge,
        _tell_discharge,
        applies=lambda rows: rows.any_carrying,
    )


def _discharge(rows: Rows) -> Reading | None:
    warm: Floats = (rows.running_s >= WARM_UP_S).astype(np.float64)
    carrying = known(rows.carrying & (warm > 0), rows.generator)
    context = {
        "generator": rows.generator,
        "load": rows.power("load"),
        "limit_w": rows.input_limit * rows.plant.volts * rows.legs,
        "enabled": rows.charger_on,
    }
    return Reading(applied(-rows.power("battery"), carrying), rows.plant.trickle_w, context)


def _tell_discharge(event: Event) -> Told:
    at = event.at_peak
    cause = Phrase("")
    if at["load"] > 0.95 * at["limit_w"]:
        cause = Phrase(
            "The house took {load:W}; the input limit lets {limit:W} through.",
            load=at["load"],
            limit=at["limit_w"],
        )
    elif at["enabled"] == 0:
        cause = Phrase("The charger was switched off.")
    return Told(
        channel="battery_power",
        peak=event.peak,
        threshold=event.threshold,
        unit="W",
        title=Phrase("Battery discharging on generator"),
        text=Phrase(
            "The battery gave up to {peak:W} while the generator carried {generator:W}{during}.",
            peak=event.peak,
            generator=at["generator"],
            during=during(event),
        ),
        cause=cause,
        advice=Phrase(
            "Turn off what can wait until the generator has stopped. If the generator has room, see whether the "
            "input limit is set too low or the charger is switched off."
        ),
    )
