"""Ticks of several plants: each keeps its own, whatever is shown meanwhile."""

from __future__ import annotations

from collections.abc import Hashable

from desktop.procedure.ticks import Ticks


class PlantTicks:
    """What a person ticked, by plant; and what was ticked while nothing was followed."""

    def __init__(self) -> None:
        self.alone = Ticks()
        self._of: dict[Hashable, Ticks] = {}

    def of(self, plant: Hashable, *, live: bool) -> Ticks:
        """The ticks of a plant.

        live  it is watched now: what was ticked while nothing was followed was ticked there
        """
        ticks = self._of.setdefault(plant, Ticks())
        if live:
            ticks.take_over(self.alone)
        return ticks
