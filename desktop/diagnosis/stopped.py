"""A generator that stopped while it carried load."""

from __future__ import annotations

import math

import numpy as np

from desktop.charging.stops import Facts, Halt, Stops
from desktop.diagnosis.finding import Finding
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.rows import Rows
from desktop.diagnosis.watch import Told, found
from desktop.words import Phrase

STANDS_S = 600.0
"""A stop is a moment: it is shown until the set carries load again, at most for so long."""

_HESITATED = 0.93


class StoppedUnderLoad:
    """Stops of kind "under load" and "dry tank"; `halts` are those, in order."""

    def __init__(self, facts: Facts, plant: Plant) -> None:
        self._stops = Stops(facts, plant.site)
        self._plant = plant
        self.halts: list[Halt] = []
        self._ends: list[int | None] = []

    def extend(self, rows: Rows) -> None:
        """Take the next rows."""
        for halt in self._stops.extend(rows.block):
            if halt.kind in ("under load", "dry tank"):
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
            "The generator went from {before:W} to nothing without running on unloaded.", before=halt.before_w
        ),
        cause=_cause(halt, plant),
        advice=_advice(halt),
    )


def _cause(halt: Halt, plant: Plant) -> Phrase:
    if halt.reason == "overload":
        return Phrase(
            "Overload: it carried {share:%} of the {rated:W} that it can carry here.",
            share=100 * halt.share,
            rated=plant.rated_w,
        )
    if halt.reason == "dry tank":
        return Phrase("The tank read {fuel:%}.", fuel=halt.fuel)
    if halt.lowest_hz < _HESITATED * plant.hz:
        return Phrase(
            "Its speed sank to {hz:Hz} first: short of fuel or air, or overloaded.", hz=halt.lowest_hz
        )
    if math.isnan(halt.share):
        return Phrase("Not known: the site sheet gives no rating to hold the load against.")
    return Phrase("Not known: no overload was seen; it may have been switched off by hand.")


def _advice(halt: Halt) -> Phrase:
    if halt.reason == "overload":
        return Phrase(
            "Set the input limit lower and turn off large loads before starting it again. Let it run unloaded for "
            "some minutes, then connect it. If a breaker has opened, find out why before closing it."
        )
    if halt.reason == "dry tank":
        return Phrase(
            "Let the set cool before refuelling, outdoors, by the maker's instructions. A diesel may have to be "
            "bled. Next time take the load off and stop it before the tank is empty."
        )
    return Phrase(
        "Look at fuel, oil level and breaker before starting it again. To stop it, take the load off first and "
        "let it cool for some minutes."
    )
