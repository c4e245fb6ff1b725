"""What is known of the state of charge at some moments, and what had been counted by then."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.records import Table

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

JUMP = 3.0
"""A reading that moves by more than this at once was set anew: what lies before and after it are two pieces."""

TURN = 5.0
"""The charge must have moved back by so many points for a half-cycle to be over."""

GRID = 5.0
"""Levels that are so many points apart count as independent of each other."""

_FINE = 1e-3
_NOISY = 0.2


@dataclass(frozen=True, slots=True)
class Levels:
    """States of charge (percent) at known moments, (n,) each, in order of time.

    piece     levels of one piece belong to one unbroken count
    half      by how much the level may be off, to either side: how coarse the display is, and when it changed
    half_ah, half_wh  by how much the counts may be off: what flowed between the two rows
    """

    at: Floats
    piece: Ints
    soc: Floats
    half: Floats
    ah_in: Floats
    ah_out: Floats
    wh_in: Floats
    wh_out: Floats
    half_ah: Floats
    half_wh: Floats

    def __len__(self) -> int:
        return len(self.at)

    def take(self, rows: NDArray[np.bool_] | NDArray[np.intp]) -> Levels:
        """Some of the levels."""
        return Levels(*(getattr(self, name)[rows] for name in self.__slots__))


def quantum(changes: Table) -> float:
    """The smallest step in which the state of charge is told, points; NaN where it never changed."""
    moved = np.abs(changes["soc_after"] - changes["soc_before"])
    moved = moved[moved > _FINE]
    # Chatter of a meter's own noise is rare; the display's step is frequent.
    return float(np.round(np.quantile(moved, 0.05), 3)) if moved.size else float("nan")


def display_levels(changes: Table) -> Levels:
    """Every change of the display as a level.

    At a change by one step the state of charge passed the boundary between the two readings, which is the same
    boundary upwards and downwards. Where the display left steps out, its reading after the change is as good as
    half a step, and the better one.
    """
    step = quantum(changes)
    moved = np.abs(changes["soc_after"] - changes["soc_before"])
    skipped = moved > 2.01 * step
    at_change = {
        name: (
            np.where(skipped, changes[f"{name}_after"], _middle(changes, name)),
            np.where(skipped, 0.0, 0.5 * (changes[f"{name}_after"] - changes[f"{name}_before"])),
        )
        for name in ("at", "ah_in", "ah_out", "wh_in", "wh_out", "soc")
    }
    half = np.where(skipped, 0.5 * step, 0.5 * np.maximum(moved - step, 0.0))
    torn = np.diff(changes["run"], prepend=-1.0) != 0
    torn |= _set_anew(changes, moved)
    return Levels(
        at=at_change["at"][0],
        piece=np.cumsum(torn),
        soc=at_change["soc"][0],
        half=half,
        ah_in=at_change["ah_in"][0],
        ah_out=at_change["ah_out"][0],
        wh_in=at_change["wh_in"][0],
        wh_out=at_change["wh_out"][0],
        half_ah=at_change["ah_in"][1] + at_change["ah_out"][1],
        half_wh=at_change["wh_in"][1] + at_change["wh_out"][1],
    )


def _middle(changes: Table, name: str) -> Floats:
    middle: Floats = 0.5 * (changes[f"{name}_before"] + changes[f"{name}_after"])
    return middle


def _set_anew(changes: Table, moved: Floats) -> NDArray[np.bool_]:
    """(n,) True where hardly anything flowed while the reading moved by more than JUMP."""
    through = (
        changes["wh_in_after"] - changes["wh_in_before"] + changes["wh_out_after"] - changes["wh_out_before"]
    )
    usual = through[moved > _FINE] / moved[moved > _FINE]
    middle = float(np.median(usual)) if usual.size else 0.0
    # Measured over whole steps: between two polls a percent may well have flowed.
    per_point = np.maximum(middle, _per_point(changes))
    jumped: NDArray[np.bool_] = (moved > JUMP) & (through < 0.3 * moved * per_point)
    return jumped


def _per_point(changes: Table) -> float:
    """Energy through the battery per point of the state of charge, between changes that follow each other, Wh."""
    if len(changes) < 2:
        return 0.0
    through = np.diff(changes["wh_in_after"] + changes["wh_out_after"])
    moved = np.abs(np.diff(changes["soc_after"]))
    near = (np.diff(changes["run"]) == 0) & (moved > _FINE)
    return float(np.median(through[near] / moved[near])) if near.any() else 0.0


def noisy(levels: Levels) -> bool:
    """True where the reading wanders by itself: it passes a boundary one way while the charge flowed the other."""
    net = np.diff(levels.wh_in - levels.wh_out)
    moved, near = np.diff(levels.soc), np.diff(levels.piece) == 0
    far = near & (np.abs(moved) > _FINE)
    back = near & ~far
    against = far & (np.sign(moved) * net < 0)
    wandered = int(against.sum()) + int(back.sum())
    return wandered > _NOISY * max(1, int(near.sum()))


def minute_levels(minutes: Table, step: float) -> Levels:
    """The reading of every minute as a level, for a gauge that is noisy: there changes tell less than readings.

    step  in which it is told, points
    """
    read = np.isfinite(minutes["soc"])
    soc = minutes["soc"][read]
    moved = np.abs(np.diff(soc, prepend=soc[:1]))
    usual = 1.4826 * float(np.median(moved)) if moved.size else 0.0
    run = minutes["run"][read]
    torn = (np.diff(run, prepend=-1.0) != 0) | (moved > max(JUMP, 6 * usual))
    nothing = np.zeros(len(soc))
    counts = {name: minutes[name][read] for name in ("at", "ah_in", "ah_out", "wh_in", "wh_out")}
    return Levels(
        piece=np.cumsum(torn),
        soc=soc,
        half=np.full(len(soc), 0.5 * step),
        half_ah=nothing,
        half_wh=nothing,
        **counts,
    )


def turning_points(soc: Floats, piece: Ints) -> list[int]:
    """The levels at which a half-cycle begins or ends: first and last of each piece, and those between which the
    state of charge turned back by TURN or more."""
    found: list[int] = []
    edges = np.flatnonzero(np.diff(piece)) + 1
    for start, stop in zip([0, *edges.tolist()], [*edges.tolist(), len(soc)], strict=True):
        if stop > start:
            found.extend(start + row for row in _turns(soc[start:stop].tolist()))
    return found


def _turns(soc: list[float]) -> list[int]:
    turns, highest, lowest, way = [0], 0, 0, 0
    for row, value in enumerate(soc):
        highest = row if value > soc[highest] else highest
        lowest = row if value < soc[lowest] else lowest
        if way >= 0 and soc[highest] - value >= TURN:
            turns.append(highest)
            way, lowest = -1, row
        elif way <= 0 and value - soc[lowest] >= TURN:
            turns.append(lowest)
            way, highest = 1, row
        if way > 0:
            lowest = highest
        elif way < 0:
            highest = lowest
    last = highest if way > 0 else lowest if way < 0 else len(soc) - 1
    return sorted({*turns, last})


def telling(levels: Levels) -> NDArray[np.bool_]:
    """(n,) True for turning points and levels on the grid: as many as say something of their own."""
    grid = np.floor(levels.soc / GRID)
    kept = np.zeros(len(levels), np.bool_)
    kept[1:] = (np.diff(grid) != 0) & (np.diff(levels.piece) == 0)
    kept[turning_points(levels.soc, levels.piece)] = True
    return kept


def half_cycles(levels: Levels) -> int:
    """How many times the charge went up or down by TURN or more."""
    turns = turning_points(levels.soc, levels.piece)
    return sum(
        1
        for here, following in pairwise(turns)
        if levels.piece[here] == levels.piece[following]
        and abs(levels.soc[here] - levels.soc[following]) >= TURN
    )
