"""Counts charge sessions in blocks that follow each other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from desktop.charging.derating import rated_w
from desktop.charging.run import Run
from desktop.charging.runs import MARK_ROWS, Runs
from desktop.charging.sessions import Session, Stop
from desktop.charging.stops import Facts, Halt, Stops
from desktop.flow.block import Block
from desktop.site import Site


class SessionCounter:
    """The runs of the generator under load, with how each of them ended.

    stops  shared with others that take the same blocks; None for its own
    """

    def __init__(self, facts: Facts, site: Site, stops: Stops | None = None) -> None:
        self._rated_w = rated_w(site)
        self._facts, self._site = facts, site
        self._runs = Runs(facts, site)
        self._marks: dict[int, Runs] = {}
        self._stops = Stops(facts, site) if stops is None else stops
        self._kinds: dict[int, Stop] = {}
        self._ended: list[Run] = []

    def extend(self, block: Block) -> None:
        """Count the next rows."""
        self._kinds.update({halt.loaded: halt.kind for halt in self._stops.extend(block)})
        self._ended += self._runs.extend(block, self._marks)

    @property
    def halts(self) -> Sequence[Halt]:
        """Every end of carrying load that became clear, in order of time."""
        return self._stops.halts

    def sessions(self) -> tuple[Session, ...]:
        """All sessions so far in order of time, with the one that isn't over."""
        ended = [session_of(run, self._rated_w, self._kinds.get(run.end, "unclear")) for run in self._ended]
        standing = self._runs.standing
        if standing is not None:
            stop = self._kinds.get(standing.end, "unclear" if standing.quiet_s > 0 else "still running")
            ended.append(session_of(standing, self._rated_w, stop))
        return tuple(ended)

    def runs_before(self, row: int) -> tuple[int, Runs]:
        """A row at or shortly before `row`, and the runs as they stood ahead of it, to be extended from there."""
        at = row - row % MARK_ROWS
        marked = self._marks.get(at)
        return at, Runs(self._facts, self._site) if marked is None else marked.copy()


def session_of(run: Run, rated: float, stop: Stop) -> Session:
    """A run as a session. `rated` is the generator's derated rating, W, NaN where not known."""
    known = run.body.known_s > 0
    energies = np.where(known, run.body.sums / 3600, np.nan)
    hours = float(run.body.known_s[0]) / 3600
    mean = float(energies[0]) / hours if hours > 0 else float("nan")
    generator, to_load, to_battery, losses, sun = energies.tolist()
    return Session(
        start=run.start,
        end=run.end,
        generator_wh=generator,
        to_load_wh=to_load,
        to_battery_wh=to_battery,
        losses_wh=losses,
        solar_to_battery_wh=sun,
        soc_start=run.soc_start,
        soc_end=run.soc_end,
        mean_load_share=mean / rated,
        peak_input_a=run.peak_a,
        stop=stop,
    )
