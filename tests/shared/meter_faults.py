"""Faults of meters put into a recording afterwards, so that one simulated plant serves many of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from recordings.recording import Recording

Floats = NDArray[np.float64]

KINDS = (
    "reversed",
    "scale",
    "offset",
    "stuck",
    "one_leg",
    "swapped",
    "unmetered_load",
    "unmetered_source",
    "lag",
)


@dataclass(frozen=True, slots=True)
class MeterFault:
    """One fault.

    channel       the meter's channel; of "swapped" the first of two; of "unmetered_*" the channel whose meter was
                  left out, or doesn't see a part
    value         factor (scale), W (offset; unmetered part), s (lag)
    other         of "swapped" the second
    since, until  shares of the recording's rows between which it holds
    """

    kind: str
    channel: str
    value: float = math.nan
    other: str = ""
    since: float = 0.0
    until: float = 1.0

    def __str__(self) -> str:
        value = "" if math.isnan(self.value) else f" {self.value:.4g}"
        part = "" if (self.since, self.until) == (0.0, 1.0) else f" rows {self.since:.2f}..{self.until:.2f}"
        return f"{self.kind} {self.channel}{'+' + self.other if self.other else ''}{value}{part}"

    @property
    def name(self) -> str:
        """The channel as a suspect names it: "a+b" of two swapped ones, the bus of something unmetered."""
        if self.kind.startswith("unmetered"):
            return "dc" if self.channel in ("solar_power", "dc_load_power") else "ac"
        return "+".join(sorted((self.channel, self.other))) if self.kind == "swapped" else self.channel


def with_fault(
    recording: Recording, fault: MeterFault, legs: Mapping[str, Floats] | None = None
) -> Recording:
    """The recording as it would be if a meter had that fault.

    legs  channel → (n,) what its meter would read with one leg only; needed for "one_leg"
    """
    columns = columns_of(recording)
    rows = slice(round(fault.since * len(recording)), round(fault.until * len(recording)))
    reading = columns[fault.channel]
    match fault.kind:
        case "reversed":
            reading[rows] = -reading[rows]
        case "scale":
            reading[rows] *= fault.value
        case "offset":
            reading[rows] += fault.value
        case "stuck":
            reading[rows] = reading[rows][0]
        case "one_leg":
            reading[rows] = (legs or {})[fault.channel][rows]
        case "swapped":
            other = columns[fault.other]
            reading[rows], other[rows] = other[rows].copy(), reading[rows].copy()
        case "lag":
            late = np.searchsorted(recording.time, recording.time - round(fault.value * 1e9)).clip(0)
            reading[rows] = reading[late][rows]
        case "unmetered_load" | "unmetered_source":
            if math.isnan(fault.value):
                del columns[fault.channel]
            else:
                reading[rows] = np.maximum(reading[rows] - fault.value, np.minimum(reading[rows], 0.0))
        case _:
            raise ValueError(fault.kind)
    return Recording.from_columns(recording.time.copy(), columns, recording.provenance)


def columns_of(recording: Recording) -> dict[str, Any]:
    """channel → (n,) readings, float64, to be changed."""
    return {name: recording.column(name).astype(np.float64) for name in recording.channels}


def with_gaps(recording: Recording, chance: np.random.Generator) -> Recording:
    """The recording with a few stretches of rows lost, and single readings missing here and there."""
    count = len(recording)
    kept = np.ones(count, bool)
    for _ in range(int(chance.integers(0, 3))):
        first = int(chance.integers(1, max(2, count - 2)))
        kept[first : first + int(chance.integers(1, max(2, count // 12)))] = False
    kept[0] = kept[-1] = True
    columns = columns_of(recording)
    share = float(chance.choice((0.0, 0.0, 0.002, 0.02)))
    for values in columns.values():
        values[chance.random(count) < share] = np.nan
    return Recording.from_columns(
        recording.time[kept].copy(),
        {name: values[kept] for name, values in columns.items()},
        recording.provenance,
    )
