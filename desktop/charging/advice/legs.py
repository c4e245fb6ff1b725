"""What the legs of the generator carry, from a recording."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recordings.channels import LEGS
from recordings.recording import Recording

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

_RUNNING_SHARE = 0.2
_FEWEST_ROWS = 60
_PARTS = 8
_LIVE = 0.5


def leg_currents(recording: Recording, legs: int) -> Floats | None:
    """(legs, n) A as metered; None where not every leg has its meter."""
    names = [f"generator_current_{leg}" for leg in LEGS[:legs]]
    if legs == 1 and "generator_current" in recording:
        names = ["generator_current"]
    if any(name not in recording for name in names):
        return None
    return np.abs(np.stack([recording.column(name) for name in names])).astype(np.float64)


def busiest_a(
    recording: Recording, generator: Singles, legs: int, volts: float, power_factor: float
) -> Floats | None:
    """(n,) current of the busiest leg, A; None where nothing tells it.

    generator  (n,) W
    volts      nominal, leg to neutral; a reading takes precedence
    """
    metered = leg_currents(recording, legs)
    if metered is not None:
        highest: Floats = metered.max(axis=0)
        return highest
    if legs > 1:
        return None
    across = np.full(len(recording), volts)
    if "generator_voltage" in recording:
        read = recording.column("generator_voltage").astype(np.float64)
        across = np.where(read > _LIVE * volts, read, across)
    worked_out: Floats = generator / (across * power_factor)
    return worked_out


@dataclass(frozen=True, slots=True)
class Uneven:
    """How much more the house puts on its busiest leg than on the mean of the legs, by what it takes.

    load_w   (k,) rising, W
    extra_w  (k,) that much more, times the legs, W; flat beyond what was seen
    """

    load_w: tuple[float, ...] = (0.0,)
    extra_w: tuple[float, ...] = (0.0,)

    def on_busiest(self, load: Floats) -> Floats:
        """(n,) what a house with this load, (n,) W, would take if every leg carried what its busiest does."""
        if not any(self.extra_w):
            return load
        extra: Floats = np.interp(load, self.load_w, self.extra_w)
        return load + extra


EVEN = Uneven()


def extra_w(metered: Floats, generator: Singles) -> Floats:
    """(n,) how much more the generator would give if every leg carried what its busiest does, W.

    metered    (legs, n) A
    generator  (n,) W
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        extra: Floats = generator * (metered.max(axis=0) / metered.mean(axis=0) - 1.0)
    return extra


def unevenness(recording: Recording, load: Singles, generator: Singles, legs: int) -> Uneven:
    """From the metered legs of the generator; even where they aren't metered.

    A charger takes the same from every leg, so that what one leg carries more than the mean is the house's.

    load, generator  (n,) W
    """
    metered = leg_currents(recording, legs)
    if legs < 2 or metered is None:
        return EVEN
    extra = extra_w(metered, generator)
    mean = metered.mean(axis=0)
    carrying = mean > _RUNNING_SHARE * np.nanmax(mean, initial=0.0)
    used = np.flatnonzero(carrying & np.isfinite(extra) & np.isfinite(load))
    if used.size < _FEWEST_ROWS:
        return EVEN
    taken, more = by_load(load[used].astype(np.float64), extra[used])
    return Uneven(tuple(taken.tolist()), tuple(more.tolist()))


def by_load(load: Floats, values: Floats) -> tuple[Floats, Floats]:
    """(k,) mean loads, rising, and (k,) mean values of as many rows each."""
    parts = np.array_split(np.argsort(load, kind="stable"), _PARTS)
    return (
        np.array([float(load[part].mean()) for part in parts]),
        np.array([float(values[part].mean()) for part in parts]),
    )
