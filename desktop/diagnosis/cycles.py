"""A generator that is started often, or for a few minutes only."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from desktop.diagnosis.alarm import Alarm, Event, Stage, Treatment
from desktop.diagnosis.finding import Finding
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.rows import Rows
from desktop.diagnosis.trackers import Held
from desktop.diagnosis.watch import Told, found
from desktop.words import Phrase

SHORT_RUN_S = 300.0
"""An engine hardly gets warm in less."""

MANY_STARTS = 3
WITHIN_S = 3600.0

_SURE_S = 5.0


@dataclass(slots=True)
class _Episode:
    first: Event
    last: Event
    starts: int
    shortest_s: float


class ShortCycles:
    """Runs shorter than five minutes, and three or more starts within an hour.

    Only runs whose start was seen count, and only one whose end was seen can be short. Neighbours within an
    hour make one finding. A start or stop must last for some seconds to be one.
    """

    def __init__(self, plant: Plant) -> None:
        self._alarm = Alarm(Treatment((Stage(_SURE_S),), _SURE_S, plant.hold_s))
        self._held = Held(plant.hold_s)
        self._before = np.nan

    def extend(self, rows: Rows) -> None:
        """Take the next rows."""
        if not len(rows.time):
            return
        held = self._held.extend(rows.time, rows.running)
        previous = np.concatenate(([self._before], held[:-1]))
        self._alarm.extend(rows.time, rows.running, 0.5, {"before": previous})
        self._before = float(held[-1])

    def findings(self) -> list[Finding]:
        """What was found so far."""
        return [_finding(episode) for episode in _episodes(self._alarm.events)]


def _episodes(events: list[Event]) -> list[_Episode]:
    seen = [event for event in events if event.at_start.get("before") == 0]
    starts = np.array([event.start for event in seen], dtype=np.int64)
    episodes: list[_Episode] = []
    for number, event in enumerate(seen):
        length = _length_s(event)
        since = number + 1 - int(np.searchsorted(starts, event.start - round(WITHIN_S * 1e9)))
        if length >= SHORT_RUN_S and since < MANY_STARTS:
            continue
        first = seen[number + 1 - since] if since >= MANY_STARTS else event
        last = episodes[-1] if episodes else None
        if last is not None and first.start - last.last.start <= WITHIN_S * 1e9:
            last.starts = sum(1 for run in seen if last.first.start <= run.start <= event.start)
            last.last, last.shortest_s = event, min(last.shortest_s, length)
        else:
            count = since if since >= MANY_STARTS else 1
            among = seen[number + 1 - count : number + 1]
            episodes.append(_Episode(first, event, count, min(_length_s(run) for run in among)))
    return episodes


def _length_s(event: Event) -> float:
    if event.end is None or not event.end_seen:
        return np.inf
    return (event.end - event.start) / 1e9


def _finding(episode: _Episode) -> Finding:
    once = episode.starts == 1
    shortest = episode.shortest_s
    if once:
        text = Phrase("The generator ran for {time:time} only.", time=shortest)
    elif shortest < SHORT_RUN_S:
        text = Phrase(
            "The generator was started {starts:d} times within {time:time}; its shortest run lasted {short:time}.",
            starts=episode.starts,
            time=(episode.last.start - episode.first.start) / 1e9,
            short=shortest,
        )
    else:
        text = Phrase(
            "The generator was started {starts:d} times within {time:time}.",
            starts=episode.starts,
            time=(episode.last.start - episode.first.start) / 1e9,
        )
    told = Told(
        channel="generator_power",
        peak=shortest if once else float(episode.starts),
        threshold=SHORT_RUN_S if once else float(MANY_STARTS),
        unit="s" if once else "",
        title=Phrase("Generator started often or briefly"),
        text=text,
        advice=Phrase(
            "Let it run longer and less often: raise the state of charge at which it stops, or lower the one at "
            "which it starts. Cold starts wear an engine most."
        ),
    )
    return found("generator_short_cycle", episode.first.start, episode.last.end, told)
