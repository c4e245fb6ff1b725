"""The steps of a recorded load at which a set may be overloaded at all: all others needn't be replayed."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.advice.charger import BackOff, taken

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_STIRS = 0.02
"""A house whose load has risen by less than this share of the rating doesn't lift the input over it."""


@dataclass(frozen=True, slots=True)
class Replay:
    """Steps of a stretch, in order.

    rows        (m,) which
    counted     (m,) False where a step is there for what the charger remembers of it only
    seconds     (m,) since the step before
    load        (m,) W
    on_busiest  (m,) the same if every leg carried what the busiest does, W
    """

    rows: NDArray[np.int64]
    counted: Flags
    seconds: Floats
    load: Floats
    on_busiest: Floats

    def shares(
        self, limit_w: float, most_w: float, back_off: BackOff, rated_w: float, step_s: float
    ) -> tuple[Floats, Floats]:
        """(m,) each, what the set carries and what its busiest leg does, as shares of the rating; 0 where that
        doesn't count."""
        charger = taken(self.on_busiest, limit_w, most_w, back_off, step_s)
        return (
            np.where(self.counted, self.load + charger, 0.0) / rated_w,
            np.where(self.counted, self.on_busiest + charger, 0.0) / rated_w,
        )


def whole(load: Floats, on_busiest: Floats, step_s: float) -> Replay:
    """Every step of a stretch."""
    count = len(load)
    return Replay(np.arange(count), np.ones(count, bool), np.full(count, step_s), load, on_busiest)


def lively(load: Floats, on_busiest: Floats, rated_w: float, memory_s: float, step_s: float) -> Replay:
    """The steps within the charger's memory after the load has risen, or at which the house alone is too much.

    At all others the set carries no more than _STIRS of its rating over what the limit holds it at.
    """
    steps = 1 + math.ceil(memory_s / step_s)
    stirred = on_busiest > rated_w
    stirred[1:] |= np.diff(on_busiest) > 0.0
    # A rise that is slow as seen from its memory is followed at once.
    stirred &= (on_busiest > rated_w) | (on_busiest - _lowest_of_latest(on_busiest, steps) > _STIRS * rated_w)
    counted = _within(stirred, steps)
    rows = np.flatnonzero(counted | _within(counted[::-1], steps)[::-1])
    seconds = np.diff(rows, prepend=rows[:1] - 1) * step_s
    return Replay(rows, counted[rows], seconds, load[rows], on_busiest[rows])


def memory_s(back_off: BackOff, most_w: float) -> float:
    """How long a charger takes to give way altogether, s."""
    giving_s = most_w / back_off.ramp_w_s if math.isfinite(back_off.ramp_w_s) else 0.0
    return back_off.delay_s + giving_s


def _within(flags: Flags, steps: int) -> Flags:
    """(n,) True where one of so many latest is, this one included."""
    numbers = np.arange(len(flags))
    latest = np.maximum.accumulate(np.where(flags, numbers, -steps))
    near: Flags = numbers - latest < steps
    return near


def _lowest_of_latest(values: Floats, steps: int) -> Floats:
    lowest, width = values.copy(), 1
    while width < steps:
        shift = min(width, steps - width)
        lowest[shift:] = np.minimum(lowest[shift:], lowest[:-shift].copy())
        width += shift
    return lowest
