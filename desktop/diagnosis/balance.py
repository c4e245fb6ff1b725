"""Power that enters and isn't seen to leave, or leaves and wasn't seen to enter."""

from __future__ import annotations

import numpy as np

from desktop.diagnosis.alarm import Event, Stage, Treatment
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.rows import Rows
from desktop.diagnosis.watch import Reading, Told, Watch, during
from desktop.flow.streams import GAPS
from desktop.words import Phrase

SIGNIFICANT = 3.0
"""Standard deviations."""

FLOOR_W = 100.0

_ON_S, _OFF_S = 60.0, 300.0


def power_unaccounted(plant: Plant) -> Watch:
    """Unaccounted power beyond three standard deviations and 100 W for a minute.

    One finding at a time, at the place where the balance is off the most.
    """
    return Watch(
        "power_unaccounted",
        Treatment((Stage(_ON_S),), _OFF_S, plant.hold_s, deadband_share=0.1),
        _measure,
        _tell,
    )


def _measure(rows: Rows) -> Reading | None:
    block = rows.block
    size = np.abs(block.unaccounted)
    allowed = np.maximum(SIGNIFICANT * block.unaccounted_sd, FLOOR_W)
    share = size / allowed
    share[np.isnan(share)] = -1.0
    place = share.argmax(axis=0)
    row = np.arange(len(block))
    return Reading(
        size[place, row],
        allowed[place, row],
        {"place": place.astype(np.float64), "off": block.unaccounted[place, row]},
    )


_PLACES = {
    "ac": Phrase("on the AC side"),
    "dc": Phrase("on the DC side"),
    "both": Phrase("in the plant as a whole"),
}


def _tell(event: Event) -> Told:
    name = GAPS[int(event.at_peak["place"])]
    off, place = event.at_peak["off"], _PLACES[name]
    if off > 0:
        text = Phrase(
            "Up to {peak:W} came in {place} and was not seen to leave (meters explain {allowed:W}){during}.",
            peak=event.peak,
            place=place,
            allowed=event.threshold,
            during=during(event),
        )
        cause = Phrase(
            "An unmetered load, a meter that reads wrong, or a source counted the wrong way round."
        )
    else:
        text = Phrase(
            "Up to {peak:W} was used {place} and not seen to come in (meters explain {allowed:W}){during}.",
            peak=event.peak,
            place=place,
            allowed=event.threshold,
            during=during(event),
        )
        cause = Phrase(
            "An unmetered source, a meter that reads wrong, or a load counted the wrong way round."
        )
    return Told(
        channel=name,
        peak=event.peak,
        threshold=event.threshold,
        unit="W",
        title=Phrase("Power unaccounted for"),
        text=text,
        cause=cause,
        advice=Phrase(
            "Switch one large load on and off and see which meters follow. Opening panels to look at meters is for "
            "qualified persons."
        ),
    )
