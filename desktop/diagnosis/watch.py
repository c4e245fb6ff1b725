"""A detector that holds one value against one threshold, and puts what it finds into words."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.alarm import Alarm, Event, Treatment
from desktop.diagnosis.finding import Finding
from desktop.diagnosis.rows import Rows
from desktop.words import Phrase

Floats = NDArray[np.float64]


class Detector(Protocol):
    """Finds things in rows that arrive block by block."""

    def extend(self, rows: Rows) -> None:
        """Take the next rows."""

    def findings(self) -> list[Finding]:
        """What was found so far; what still stands has no end."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What is judged: value and threshold as `Alarm.extend` takes them, and what else to keep."""

    value: Floats
    threshold: Floats | float
    context: Mapping[str, Floats] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Told:
    """What a finding says beyond its kind and time. Fields as in Finding."""

    channel: str
    peak: float
    threshold: float
    unit: str
    title: Phrase
    text: Phrase
    advice: Phrase
    cause: Phrase = field(default_factory=lambda: Phrase(""))


Measure = Callable[[Rows], Reading | None]
Tell = Callable[[Event], Told]
Look = Callable[[Rows, Event], dict[str, float]]
Applies = Callable[[Rows], bool]


class Watch:
    """One kind of finding that is one value against one threshold.

    measure  what to judge; each row by itself, so that blocks can be cut anywhere; None where nothing tells
    tell     the words for an event
    look     what else to note when an event is raised, from rows up to the one that raised it
    applies  False for blocks in which no row can be beyond the threshold: they are left out
    """

    def __init__(
        self,
        kind: str,
        treatment: Treatment,
        measure: Measure,
        tell: Tell,
        *,
        look: Look | None = None,
        applies: Applies = lambda rows: True,
    ) -> None:
        self.kind = kind
        self._alarm = Alarm(treatment)
        self._measure = measure
        self._tell = tell
        self._look = look
        self._applies = applies
        self._told: list[Finding] = []

    def extend(self, rows: Rows) -> None:
        """Take the next rows."""
        if self._alarm.idle and not self._applies(rows):
            return
        reading = self._measure(rows)
        if reading is None:
            if self._alarm.idle:
                return
            reading = Reading(np.full(len(rows.time), np.nan), math.nan)
        for event in self._alarm.extend(rows.time, reading.value, reading.threshold, reading.context):
            if self._look is not None:
                event.at_start.update(self._look(rows, event))

    def findings(self) -> list[Finding]:
        """What was found so far; what still stands has no end."""
        events = self._alarm.events
        for event in events[len(self._told) :]:
            if event.end is None:
                return [*self._told, self._finding(event)]
            self._told.append(self._finding(event))
        return list(self._told)

    def _finding(self, event: Event) -> Finding:
        return found(self.kind, event.start, event.end, self._tell(event))


def found(kind: str, start: int, end: int | None, told: Told) -> Finding:
    """A finding out of its parts."""
    return Finding(
        kind,
        start,
        end,
        told.channel,
        told.peak,
        told.threshold,
        told.unit,
        told.title,
        told.text,
        told.cause,
        told.advice,
    )


def lasted_s(event: Event) -> float:
    """How long an event lasted, s; NaN while it stands."""
    return math.nan if event.end is None else (event.end - event.start) / 1e9


def during(event: Event) -> Phrase:
    """The end of a sentence: " for 14 s", or "; it still lasts"."""
    if event.end is None:
        return Phrase("; it still lasts")
    return Phrase(" for {time:time}", time=lasted_s(event))
