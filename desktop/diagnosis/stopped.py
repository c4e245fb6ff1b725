"""A generator that stopped while it carried load."""

from __future__ import annotations

import numpy as np

from desktop.charging.stops import Halt, Stops
from desktop.diagnosis.causes.stopping import stop_cause
from desktop.diagnosis.finding import Finding
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.rows import Rows
from desktop.diagnosis.watch import Told, found
from desktop.words import Phrase

STANDS_S = 600.0
"""A stop is a moment: it is shown until the set carries load again, at most for so long."""


class StoppedUnderLoad:
    """Stops of sets that carried load until they stood; `halts` are those, in order.

    stops  may be shared with others that take the same blocks
    """

    def __init__(self, stops: Stops, plant: Plant) -> None:
        self._stops = stops
        self._plant = plant
        self.halts: list[Halt] = []
        self._ends: list[int | None] = []

    def extend(self, rows: Rows) -> None:
        """Take the next rows."""
        for halt in self._stops.extend(rows.block):
            if halt.dropped:
                self.halts.append(halt)
                self._ends.append(None)
        for number, halt in enumerate(self.halts):
            if self._ends[number] is None:
                self._ends[number] = self._end(halt, rows)

    def _end(self, halt: Halt, rows: Rows) -> int | None:
        last = halt.stopped + round(STANDS_S * 1e9)
        again = np.flatnonzero(rows.carrying & (rows.time > halt.settled))
        if again.size:
            return min(last, int(rows.time[again[0]]))
        return last if len(rows.time) and rows.time[-1] >= last else None

    def findings(self) -> list[Finding]:
        """What was found so far."""
        return [
            found("generator_stopped_under_load", halt.stopped, end, _tell(halt, self._plant))
            for halt, end in zip(self.halts, self._ends, strict=True)
        ]


def _tell(halt: Halt, plant: Plant) -> Told:
    return Told(
        channel="generator_power",
        peak=halt.before_w,
        threshold=plant.rated_w,
        unit="W",
        title=Phrase("Generator stopped under load"),
        text=Phrase(
            "The generator went from {before:W} to nothing: its load was not taken off first.",
            before=halt.before_w,
        ),
        cause=_cause(halt, plant),
        advice=_advice(halt),
    )


def _cause(halt: Halt, plant: Plant) -> Phrase:
    if halt.reason != "overload":
        return stop_cause(halt)[0]
    by_power = halt.before_w / plant.rated_w
    if by_power > 1:
        return Phrase(
            "Overload: it carried {share:%} of the {rated:W} that it can carry here.",
            share=100 * by_power,
            rated=plant.rated_w,
        )
    if halt.share > 1:
        return Phrase(
            "Overload: the current of its busiest leg was {share:%} of what it can carry.",
            share=100 * halt.share,
        )
    return Phrase("Overload: its speed sank under a load step, and the tank was not empty.")


def _advice(halt: Halt) -> Phrase:
    if halt.reason == "overload":
        return Phrase(
            "Turn off large loads and set the input limit lower{advised}. If a breaker has opened, find out why "
            "before closing it. Only then start it, let it run for some minutes without load, and connect it.",
            advised=Phrase(""),
        )
    if halt.reason == "dry tank":
        return Phrase(
            "Let the generator cool before refuelling, outdoors, by the maker's instructions. A diesel may have "
            "to be "
            "bled. Next time take the load off and stop it before the tank is empty."
        )
    return Phrase(
        "Look at fuel, oil level and breaker before starting it again. To stop it, take the load off first and "
        "let it cool for some minutes."
    )
