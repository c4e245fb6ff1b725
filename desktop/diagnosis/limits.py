"""The generator's input current against its limit, its load against its rating, and the one against the other."""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from desktop.charging.currents import each_leg
from desktop.diagnosis.alarm import Event, Stage, Treatment
from desktop.diagnosis.causes.at_once import load_step, overshoot
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.rows import Rows, applied, known
from desktop.diagnosis.watch import Reading, Told, Watch, during
from desktop.words import Phrase

_FAST_S, _FAST_FACTOR = 3.0, 1.10
_SLOW_S = 10.0
_OFF_S = 15.0

_USUAL_SHARE = 0.8
"""Of what a set can carry: what it is loaded with for hours. Common practice, no source."""


def tripping(plant: Plant, margin: float) -> Treatment:
    """What can trip a set is judged within seconds: 3 s above 110 %, 10 s above 100 % and the meter's error.

    The usual deadband for a flow, 5 % of range, would be too wide: a charger that regulates to its limit comes
    back to the limit and stays there. So the deadband is half of the meter's error.
    """
    return Treatment(
        (Stage(_SLOW_S, 1 + margin), Stage(_FAST_S, max(_FAST_FACTOR, 1 + margin))),
        _OFF_S,
        plant.hold_s,
        deadband_share=0.5 * margin,
    )


def input_over_limit(plant: Plant) -> Watch:
    """Input current of the most loaded leg above the AC input limit."""
    return Watch(
        "input_over_limit",
        tripping(plant, plant.meter_margin("generator_current")),
        _input_current,
        _tell_input,
        look=load_step,
        applies=lambda rows: rows.any_carrying,
    )


def generator_over_rating(plant: Plant) -> Watch:
    """Power, or the current of one leg, above what the set can carry where it stands."""
    return Watch(
        "generator_over_rating",
        tripping(plant, plant.meter_margin("generator_power", plant.rated_w)),
        _load,
        partial(_tell_overload, plant),
        look=load_step,
        applies=lambda rows: rows.any_carrying and plant.rated_w > 0,
    )


def limit_above_rating(plant: Plant) -> Watch:
    """An input limit that lets more through than the set can carry, while the set runs."""
    return Watch(
        "limit_above_rating",
        Treatment((Stage(10.0, 1.02),), 60.0, plant.hold_s),
        _limit,
        partial(_tell_limit, plant),
        applies=lambda rows: rows.any_running,
    )


def _input_current(rows: Rows) -> Reading | None:
    currents = rows.leg_currents
    worst = np.fmax.reduce(currents)
    context = {
        "leg": _leg(rows, worst),
        "load": rows.power("load"),
        "charger": rows.power("converter_ac"),
        "generator": rows.generator,
        "limit_w": rows.input_limit * rows.plant.volts * rows.legs,
    }
    value = applied(worst, known(rows.carrying, rows.generator))
    return Reading(value, rows.input_limit, context)


def _load(rows: Rows) -> Reading | None:
    plant = rows.plant
    value, leg = rows.generator, np.zeros(len(rows.time))
    if rows.metered_legs or "generator_current" in rows.block.channels:
        # The alternator's current is bound to its plate; only the engine suffers from thin air.
        worst = np.fmax.reduce(rows.leg_currents)
        by_current = worst / plant.leg_a * plant.rated_w
        heavier = (by_current > value) & (value <= plant.rated_w)
        value, leg = np.where(heavier, by_current, value), np.where(heavier, _leg(rows, worst) + 10, 0)
    context = {
        "leg": leg,
        "load": rows.power("load"),
        "charger": rows.power("converter_ac"),
        "generator": rows.generator,
        "limit_w": np.full(len(rows.time), plant.rated_w),
    }
    return Reading(applied(value, known(rows.carrying, rows.generator)), plant.rated_w, context)


def _limit(rows: Rows) -> Reading | None:
    plant = rows.plant
    return Reading(applied(rows.input_limit, rows.running), plant.rated_w / (plant.volts * rows.legs))


def _leg(rows: Rows, worst: np.ndarray) -> np.ndarray:
    """(n,) number of the most loaded leg, 0 where legs aren't metered one by one."""
    leg = np.zeros(len(rows.time))
    if len(rows.metered_legs) > 1:
        for number, current in enumerate(rows.leg_currents, start=1):
            leg[(current == worst) & (leg == 0)] = number
    return leg


def _tell_input(event: Event) -> Told:
    leg = int(event.at_peak.get("leg", 0))
    what = Phrase("Leg {leg:d}", leg=leg) if leg else Phrase("The input current")
    text = Phrase(
        "{what} reached {peak:A} on an input limit of {limit:A}{during}.",
        what=what,
        peak=event.peak,
        limit=event.threshold,
        during=during(event),
    )
    return Told(
        channel=f"generator_current_l{leg}" if leg else "generator_current",
        peak=event.peak,
        threshold=event.threshold,
        unit="A",
        title=Phrase("Input current over the limit"),
        text=text,
        cause=overshoot(event),
        advice=Phrase(
            "Don't switch on large loads while the generator charges. If the generator labours or trips at such "
            "steps, "
            "set the input limit lower{advised}; it must stay below what the generator can carry.",
            advised=Phrase(""),
        ),
    )


def _tell_overload(plant: Plant, event: Event) -> Told:
    leg = int(event.at_peak.get("leg", 0))
    share = 100 * event.peak / event.threshold
    if leg:
        number = leg - 10
        where = Phrase("The current of leg {leg:d}", leg=number) if number else Phrase("The current")
        text = Phrase(
            "{where} reached {share:%} of the generator's rating{during}.",
            where=where,
            share=share,
            during=during(event),
        )
    else:
        text = Phrase(
            "The generator, which can carry {rated:W} here, carried up to {peak:W} ({share:%}){during}.",
            peak=event.peak,
            share=share,
            rated=event.threshold,
            during=during(event),
        )
    return Told(
        channel="generator_power",
        peak=event.peak,
        threshold=event.threshold,
        unit="W",
        title=Phrase("Generator overloaded"),
        text=text,
        cause=overshoot(event),
        advice=_overload_advice(plant),
    )


def _overload_advice(plant: Plant) -> Phrase:
    amperes = _USUAL_SHARE * plant.rated_w / (plant.volts * plant.legs)
    if math.isnan(amperes):
        return Phrase(
            "Turn off large loads now, and set the input limit below what the generator can carry for long."
        )
    return Phrase(
        "Turn off large loads now, and set the input limit lower{advised}.",
        advised=_usually(amperes, plant.legs),
    )


def _usually(amperes: float, legs: int) -> Phrase:
    return Phrase(
        "; for hours of charging {usual}, {share:%} of what the generator can carry here, is common practice",
        usual=each_leg(amperes, legs),
        share=100 * _USUAL_SHARE,
    )


def _tell_limit(plant: Plant, event: Event) -> Told:
    through = event.peak / event.threshold * plant.rated_w
    cause = Phrase("")
    if plant.rated_w < 0.995 * plant.plate_w:
        generator = plant.site.generator
        cause = Phrase(
            "At {altitude:.0f} m and {air:°C} the generator's {plate:W} shrink to {rated:W}.",
            altitude=generator.altitude_m,
            air=generator.air_c,
            plate=plant.plate_w,
            rated=plant.rated_w,
        )
    return Told(
        channel="input_limit",
        peak=event.peak,
        threshold=event.threshold,
        unit="A",
        title=Phrase("Input limit above the generator's rating"),
        text=Phrase(
            "The input limit of {limit:A} lets {through:W} through; the generator can carry {rated:W}, "
            "that is {most}.",
            limit=event.peak,
            through=through,
            rated=plant.rated_w,
            most=each_leg(event.threshold, plant.legs),
        ),
        cause=cause,
        advice=Phrase(
            "Set the input limit below {most:A}{advised}.",
            most=event.threshold,
            advised=_usually(_USUAL_SHARE * event.threshold, plant.legs),
        ),
    )
