"""Generator and grid at the same time."""

from __future__ import annotations

import numpy as np

from desktop.diagnosis.alarm import Event, Stage, Treatment
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.rows import Rows, applied, known
from desktop.diagnosis.watch import Reading, Told, Watch, during
from desktop.words import Phrase


def two_sources_live(plant: Plant) -> Watch:
    """Power flows from the generator and to or from the grid at once, for longer than a transfer takes."""
    return Watch(
        "two_sources_live",
        Treatment((Stage(5.0),), 15.0, plant.hold_s, deadband_share=0.2),
        _measure,
        _tell,
        applies=lambda rows: rows.any_carrying,
    )


def _measure(rows: Rows) -> Reading | None:
    grid = rows.power("grid")
    value = applied(np.minimum(rows.generator, np.abs(grid)), known(rows.carrying, rows.generator))
    return Reading(value, rows.plant.carrying_w, {"generator": rows.generator, "grid": grid})


def _tell(event: Event) -> Told:
    at = event.at_peak
    if at["grid"] < 0:
        text = Phrase(
            "The generator gave {generator:W} while {grid:W} flowed out into the grid{during}.",
            generator=at["generator"],
            grid=-at["grid"],
            during=during(event),
        )
    else:
        text = Phrase(
            "The generator gave {generator:W} while {grid:W} came from the grid{during}.",
            generator=at["generator"],
            grid=at["grid"],
            during=during(event),
        )
    return Told(
        channel="grid_power",
        peak=event.peak,
        threshold=event.threshold,
        unit="W",
        title=Phrase("Generator and grid live at once"),
        text=text,
        cause=Phrase(
            "The two are connected together, or one of the two meters is not where it is taken to be."
        ),
        advice=Phrase(
            "Backfeed can kill people who work on the line. Stop the generator by its maker's instructions, and "
            "have the transfer switch or interlock checked by a licensed electrician before using it again. Local "
            "codes decide."
        ),
    )
