"""What a set endures above its rating, and for how long."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from desktop.charging.advice.house import without_spikes

Floats = NDArray[np.float64]

PATIENCE_S = 2.0
"""How long more than the engine can give may be asked before it stalls (assumed)."""

STORED_S = 0.15
"""What the turning masses give before the speed has fallen by an eighth and doesn't recover, in seconds of the
rated power: a quarter of what they store, and small sets store half a second to one second (assumed)."""

INRUSH_SHARE = 0.5
"""What stands in a single step is an inrush, and stands for about half of it."""

INRUSH_STORED = STORED_S / INRUSH_SHARE
"""How far above what the engine can give an inrush may go where a step is a second, as a share of the rating."""

COOLING_S = 120.0

_K = 80.0
_FORGOTTEN = 0.15
_SURVIVED_S = 5.0
_LEAST_LIFT = 0.02
"""However calm the house was, it lifts the input by so much of the rating at times."""


@dataclass(slots=True)
class Reached:
    """What a replay came to at most.

    lasting  the load that was carried for more than a step, highest in a single one: shares of the rating
    added    overload of the busiest leg, added up by `heat`
    """

    lasting: float = 0.0
    highest: float = 0.0
    added: float = 0.0

    def take(self, share: Floats, added: Floats) -> None:
        """Take a stretch: (n,) load of all legs, (n,) added overload of the busiest."""
        self.highest = max(self.highest, float(share.max(initial=0.0)))
        self.lasting = max(self.lasting, float(np.minimum(share[1:], share[:-1]).max(initial=0.0)))
        self.added = max(self.added, float(added.max(initial=0.0)))


@dataclass(frozen=True, slots=True)
class Level:
    """One way in which a set may endure overload. Loads as shares of the rating.

    capability  above it, all legs together, for longer than PATIENCE_S the engine stalls
    multiplier  the breaker opens after multiplier · 80 / (M² − 1) seconds at M times the rating on the busiest
                leg: the extremely
                inverse characteristic of IEC 60255-151 (quoted from memory); varying overload adds up
    weight      how likely that is, 0..1
    """

    capability: float
    multiplier: float
    weight: float

    def trips(self, share: Floats, step_s: float, added: Floats) -> NDArray[np.bool_]:
        """(n,) True in steps in which a set would have tripped.

        share  (n,) its load; added: (n,) overload of the busiest leg, added up by `heat`
        """
        over = share - self.capability
        above = over > 0.0
        if not above.any() and not (added >= self.multiplier).any():
            return above
        stalled = sustained(above, max(2, math.ceil(PATIENCE_S / step_s)))
        # What stands in a single step is an inrush, of about half of it.
        return stalled | (over > STORED_S / (INRUSH_SHARE * step_s)) | (added >= self.multiplier)

    def room(self, reached: Reached, held: float, step_s: float) -> float:
        """How many times as far a set would have to be lifted until it trips as it was; 1 where no further.

        held  where it is lifted from, a share of the rating
        """
        inrush = self.capability + STORED_S / (INRUSH_SHARE * step_s)
        lifts = (
            (self.capability - held) / max(reached.lasting - held, _LEAST_LIFT),
            (inrush - held) / max(reached.highest - held, _LEAST_LIFT),
            # Overload counts with the square of the current.
            math.sqrt(self.multiplier / reached.added) if reached.added > 0 else math.inf,
        )
        return max(1.0, min(lifts))


USUAL = (
    Level(1.05, 0.12, 0.10),
    Level(1.10, 0.16, 0.30),
    Level(1.15, 0.20, 0.25),
    Level(1.22, 0.28, 0.20),
    Level(1.35, 0.38, 0.15),
)
"""From weak to strong sets. A set rated for prime power carries 10 % more for a while, and small sets are sold with
10 to 30 % above their rating for starting motors (common practice, no source; ask the maker)."""


@dataclass(frozen=True, slots=True)
class Endurance:
    """What is thought of a set's endurance.

    levels   each with its weight; the weights sum to 1
    assumed  nothing in the recording told
    """

    levels: tuple[Level, ...] = USUAL
    assumed: bool = True

    @property
    def middle(self) -> Level:
        """The level that is as likely to be too strong as too weak."""
        total = 0.0
        for level in self.levels:
            total += level.weight
            if total >= 0.5:
                return level
        return self.levels[-1]


USUAL_ENDURANCE = Endurance()


def heat(share: Floats, step_s: Floats | float) -> Floats:
    """(n,) overload added up, in multiples of the curve; forgotten below the rating within COOLING_S.

    share   (n,) load of the busiest leg
    step_s  how long each lasts, s, one or (n,)
    """
    rate = np.where(share > 1.0, (share**2 - 1.0) / _K, -_FORGOTTEN / COOLING_S)
    total = np.cumsum(np.nan_to_num(rate) * step_s)
    lowest = np.minimum.accumulate(np.minimum(total, 0.0))
    added: Floats = total - lowest
    return added


def sustained(over: NDArray[np.bool_], steps: int) -> NDArray[np.bool_]:
    """(n,) True where it has been true for so many steps in a row, this one included."""
    numbers = np.arange(len(over))
    latest_false = np.maximum.accumulate(np.where(over, -1, numbers))
    return over & (numbers - latest_false >= steps)


def learned_endurance(
    share: Floats, step_s: float, tripped: NDArray[np.int64], busiest: Floats | None = None
) -> Endurance:
    """What a recording shows a set to endure: levels that would have tripped where it didn't, or didn't where it
    would, are ruled out; where that rules out all, the nearest is moved to what was seen.

    share    (n,) the generator's load over its rating as recorded; NaN where not known
    tripped  rows of `share` at which it tripped by overload
    busiest  (n,) the same of its busiest leg; None for `share`
    """
    recorded = np.nan_to_num(share)
    share = without_spikes(recorded)
    added = heat(share if busiest is None else without_spikes(np.nan_to_num(busiest)), step_s)
    windows = [_before(row, step_s) for row in tripped.tolist()]
    survived = np.ones(len(share), bool)
    for window in windows:
        survived[window] = False
    carried = max(_carried(share * survived, step_s), _inrush_survived(recorded * survived) - INRUSH_STORED)
    endured = float(added[survived].max()) if survived.any() else 0.0
    fitting = [
        replace(level, capability=max(level.capability, carried), multiplier=max(level.multiplier, endured))
        for level in USUAL
        if level.capability >= carried and level.multiplier >= endured
    ] or [Level(max(USUAL[-1].capability, carried), max(USUAL[-1].multiplier, endured), 1.0)]
    for window in windows:
        fitting = _explaining(fitting, float(share[window].max()), float(added[window].max()))
    whole = sum(level.weight for level in fitting)
    levels = tuple(replace(level, weight=level.weight / whole) for level in fitting)
    return Endurance(levels, assumed=levels == USUAL)


def overloaded(busiest: Floats, step_s: float, row: int) -> bool:
    """Whether readings show a set above its rating shortly before a row: one that trips below it met an inrush that
    was over between two readings, or gives less than its plate says.

    busiest  (n,) load of its busiest leg over its rating; NaN where not known
    """
    return float(without_spikes(np.nan_to_num(busiest))[_before(row, step_s)].max(initial=0.0)) > 1.0


def _before(row: int, step_s: float) -> slice:
    return slice(max(0, row - round(60 / step_s)), row + 1)


def _explaining(levels: list[Level], reached: float, added: float) -> list[Level]:
    """Those that would have tripped at this load and overload; where none would, all with less to give."""
    told = [level for level in levels if level.capability < reached or level.multiplier <= added]
    return told or [replace(level, capability=min(level.capability, reached)) for level in levels]


def _inrush_survived(share: Floats) -> float:
    """The highest load in single readings that was seen more than once."""
    return float(np.partition(share, -2)[-2]) if len(share) > 1 else 0.0


def _carried(share: Floats, step_s: float) -> float:
    """The highest load that was carried for some seconds."""
    steps = max(2, math.ceil(_SURVIVED_S / step_s))
    if len(share) < steps:
        return 0.0
    lowest = np.lib.stride_tricks.sliding_window_view(share, steps).min(axis=1)
    return float(lowest.max())
