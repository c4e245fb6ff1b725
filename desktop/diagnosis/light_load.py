"""A generator that runs for a long time with little to do."""

from __future__ import annotations

from functools import partial

import numpy as np

from desktop.diagnosis.alarm import Event, Stage, Treatment
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.rows import Rows, applied
from desktop.diagnosis.watch import Reading, Told, Watch, during
from desktop.words import Phrase

LIGHT_SHARE = 0.30
"""Of the rating on the plate: the least at which NFPA 110 (8.4.2) lets a diesel set be exercised."""

_ON_S, _OFF_S = 900.0, 60.0


def generator_lightly_loaded(plant: Plant) -> Watch:
    """Power below 30 % of the rating for a quarter of an hour while the set runs."""
    return Watch(
        "generator_lightly_loaded",
        Treatment((Stage(_ON_S),), _OFF_S, plant.hold_s, deadband=0.02 * plant.plate_w, below=True),
        _measure,
        partial(_tell, plant),
        applies=lambda rows: rows.any_running and plant.plate_w > 0,
    )


def _measure(rows: Rows) -> Reading | None:
    value = applied(rows.generator, rows.running, below=True)
    return Reading(value, LIGHT_SHARE * rows.plant.plate_w, {"charger_on": rows.charger_on, "soc": rows.soc})


def _tell(plant: Plant, event: Event) -> Told:
    diesel = plant.site.generator.fuel == "diesel"
    harm = Phrase(" and unburned fuel fouls a diesel engine") if diesel else Phrase("")
    cause = Phrase("")
    if event.at_start.get("charger_on", np.nan) == 0:
        cause = Phrase("The charger was switched off.")
    elif event.at_start.get("soc", np.nan) >= 90:
        cause = Phrase("The battery was at {soc:%} and took little.", soc=event.at_start["soc"])
    return Told(
        channel="generator_power",
        peak=event.peak,
        threshold=event.threshold,
        unit="W",
        title=Phrase("Generator lightly loaded"),
        text=Phrase(
            "The generator ran below {level:W} ({share:%} of its rating){during}.",
            level=event.threshold,
            share=100 * LIGHT_SHARE,
            during=during(event),
        ),
        cause=cause,
        advice=Phrase(
            "Stop it once the battery takes little, or give it more to do: at light load a kWh costs much "
            "fuel{harm}.",
            harm=harm,
        ),
    )
