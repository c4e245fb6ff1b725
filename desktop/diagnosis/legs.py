"""Legs that carry unequal currents."""

from __future__ import annotations

import numpy as np

from desktop.diagnosis.alarm import Event, Stage, Treatment
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.rows import Rows, applied, known
from desktop.diagnosis.watch import Reading, Told, Watch, during
from desktop.words import Phrase

APART_SHARE = 0.25
"""Of what one leg can carry: the most that two legs should lie apart."""

HEAVY_SHARE = 0.5
"""Of what one leg can carry: below it an unequal load does no harm."""


def legs_unequal(plant: Plant) -> Watch:
    """Legs that lie a quarter of a leg's rating apart for a minute while the heavier one is half loaded.

    Overload is decided leg by leg: the heavier one is full while the other still has room. What a leg can carry
    is the set's rating per leg, else the input limit; where neither is known nothing is told.
    """
    return Watch(
        "legs_unequal",
        Treatment((Stage(60.0),), 60.0, plant.hold_s, deadband_share=0.2),
        _measure,
        _tell,
        applies=lambda rows: rows.any_carrying and len(rows.metered_legs) > 1,
    )


def _measure(rows: Rows) -> Reading | None:
    if len(rows.metered_legs) < 2:
        return None
    currents = rows.leg_currents
    heavy, light = currents.max(axis=0), currents.min(axis=0)
    full = np.full(len(heavy), rows.plant.leg_a) if rows.plant.leg_a > 0 else rows.input_limit
    matters = known(rows.carrying & (heavy > HEAVY_SHARE * full), rows.generator, heavy, full)
    context = {
        "heavy": heavy,
        "light": light,
        "leg": 1.0 + np.argmax(currents == heavy, axis=0),
        "full": full,
    }
    return Reading(applied(heavy - light, matters), APART_SHARE * full, context)


def _tell(event: Event) -> Told:
    at = event.at_peak
    leg = int(at["leg"])
    return Told(
        channel=f"generator_current_l{leg}",
        peak=event.peak,
        threshold=event.threshold,
        unit="A",
        title=Phrase("Legs unequal"),
        text=Phrase(
            "Leg {leg:d} carried {heavy:A} of {full:A}, the lightest {light:A} at the same time. They lay far "
            "apart{during}.",
            leg=leg,
            heavy=at["heavy"],
            light=at["light"],
            full=at["full"],
            during=during(event),
        ),
        cause=Phrase(
            "The loads that run at the same time are on leg {leg:d}; the charger gets only what it leaves.",
            leg=leg,
        ),
        advice=Phrase(
            "Run large loads of that leg at other times. Moving circuits to another leg is a job for a licensed "
            "electrician."
        ),
    )
