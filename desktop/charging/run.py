"""One generator run while it is being counted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from desktop.charging.energy import best_known
from desktop.charging.stops import generator_w
from desktop.flow.block import Block
from desktop.flow.streams import INDEX, SINKS, SOURCES

Floats = NDArray[np.float64]

QUANTITIES = ("generator", "to_load", "to_battery", "losses", "solar_to_battery")
"""What is counted of a run, in the order of the rows of every (5, …) array here."""


@dataclass(frozen=True, slots=True)
class Energies:
    """Energies of QUANTITIES, Ws, and the seconds that each of them covers."""

    sums: Floats = field(default_factory=lambda: np.zeros(len(QUANTITIES)))
    known_s: Floats = field(default_factory=lambda: np.zeros(len(QUANTITIES)))

    def __add__(self, other: Energies) -> Energies:
        return Energies(self.sums + other.sums, self.known_s + other.known_s)


@dataclass(slots=True)
class Run:
    """A run from its first to its latest row under load, and what came after that row (the tail).

    first, latest  row numbers; start, end their times
    tail           energies of the rows after the latest row under load
    quiet_s        how long the generator was seen without load since then
    unseen_s       how long nothing told of it since then
    """

    first: int
    latest: int
    start: int
    end: int
    soc_start: float
    soc_end: float
    peak_a: float
    body: Energies = Energies()
    tail: Energies = Energies()
    quiet_s: float = 0.0
    unseen_s: float = 0.0

    def long_enough(self, seconds: float) -> bool:
        """True where the run lasted at least this long."""
        return self.end - self.start >= seconds * 1e9


@dataclass(slots=True)
class Stretch:
    """What a block tells of runs, worked out for all of its rows at once.

    Each row stands for half of the step before it and half of the step after it, so that the ramp before the
    first and after the last row under load belongs to the run, as it does in the energy books.
    """

    block: Block
    on: NDArray[np.bool_]
    carrying: NDArray[np.bool_]
    powers: Floats
    bridged: Floats
    energies: Floats
    known_s: Floats
    quiet: Floats
    unseen: Floats
    soc: Floats
    current: Floats

    @classmethod
    def of(cls, block: Block, threshold: float, on: bool, soc_before: float, currents: Floats) -> Stretch:
        """Work out a block.

        threshold   the power from which the generator carries load, W
        on          True where load was carried when it was last known
        soc_before  the latest state of charge before the block
        currents    (legs, n) A
        """
        streams, _ = best_known(block)
        generator = generator_w(block)
        loaded = held(_carries(generator, threshold), float(on)) > 0
        carrying = loaded & np.isfinite(generator)
        step = np.where(np.isfinite(block.step), block.step, 0.0)
        bridged = np.where(block.gap, 0.0, step)
        powers = _powers(block, streams[INDEX["generator"]])
        weights = bridged * 0.5
        weights[:-1] += bridged[1:] * 0.5
        finite = np.isfinite(powers)
        seen_idle = ~carrying & np.isfinite(generator)
        return cls(
            block=block,
            on=loaded,
            carrying=carrying,
            powers=powers,
            bridged=bridged,
            energies=np.where(finite, powers, 0.0) * weights,
            known_s=finite * weights,
            quiet=np.cumsum(np.where(seen_idle, bridged, 0.0)),
            unseen=np.cumsum(np.where(block.gap | np.isnan(generator), step, 0.0)),
            soc=held(block.channel("battery_soc"), soc_before),
            current=np.where(carrying, np.fmax.reduce(currents), np.nan),
        )

    def between(self, start: int, stop: int) -> Energies:
        """The energies of the rows [start, stop) of the block."""
        return Energies(self.energies[:, start:stop].sum(axis=1), self.known_s[:, start:stop].sum(axis=1))

    def parts(self, every: int) -> Iterator[tuple[int, int]]:
        """The block's rows as stretches that end where the row number is a multiple of `every`."""
        start, stop = self.block.start, self.block.start + len(self.block)
        edges = [start, *range((start // every + 1) * every, stop, every), stop]
        for first, last in pairwise(edges):
            yield first - start, last - start

    def second_half(self, powers_before: Floats) -> Energies:
        """What the step into the block's first row still adds to the row before it."""
        finite = np.isfinite(powers_before)
        half = self.bridged[0] * 0.5
        return Energies(np.where(finite, powers_before, 0.0) * half, finite * half)

    def peak(self, start: int, stop: int) -> float:
        """The highest current of any leg under load in the rows [start, stop); NaN where nothing tells."""
        return float(np.fmax.reduce(self.current[start:stop], initial=np.nan))

    def first_soc(self, start: int, stop: int) -> float:
        """The first known state of charge in the rows [start, stop); NaN where nothing tells."""
        known = self.soc[start:stop]
        known = known[np.isfinite(known)]
        return float(known[0]) if known.size else float("nan")


def _powers(block: Block, generator: Floats) -> Floats:
    row = block.traced[SOURCES.index("generator")]
    sun = block.traced[SOURCES.index("solar")] + block.traced[SOURCES.index("solar_ac")]
    to_load = row[SINKS.index("load")] + row[SINKS.index("dc_load")]
    battery = SINKS.index("battery")
    return np.stack((generator, to_load, row[battery], row[SINKS.index("losses")], sun[battery]))


def _carries(generator: Floats, threshold: float) -> Floats:
    """(n,) 1 where load is carried, 0 where it isn't, NaN where it is as it was before."""
    return np.where(generator > threshold, 1.0, np.where(generator < threshold / 2, 0.0, np.nan))


def held(readings: Floats, before: float) -> Floats:
    """(n,) readings, with each missing one replaced by the latest before it (`before` ahead of the first)."""
    known = np.isfinite(readings)
    latest = np.maximum.accumulate(np.where(known, np.arange(len(readings)), -1))
    return np.where(latest >= 0, readings[latest], before)
