"""What a set endures above its rating, and for how long."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

USUAL_CAPABILITY = 1.10
"""What a set rated for prime power carries for a while (common practice with such ratings; ask the maker)."""

USUAL_MULTIPLIER = 0.15
"""Of the inverse-time curve below: some 100 s at 105 %, 57 s at 110 %, 17 s at 130 % (assumed)."""

PATIENCE_S = 2.0
"""How long more than the engine can give may be asked before it stalls (assumed)."""

COOLING_S = 120.0

_K = 80.0
_SURVIVED_S = 5.0


@dataclass(frozen=True, slots=True)
class Endurance:
    """Loads as shares of the rating, of the busiest leg.

    capability  above it for longer than PATIENCE_S the engine stalls
    multiplier  the breaker opens after multiplier · 80 / (M² − 1) seconds at M times the rating: the extremely
                inverse characteristic of IEC 60255-151 (quoted from memory); varying overload adds up
    assumed     nothing in the recording told
    """

    capability: float = USUAL_CAPABILITY
    multiplier: float = USUAL_MULTIPLIER
    assumed: bool = True

    def trips(self, share: Floats, step_s: float) -> NDArray[np.bool_]:
        """(n,) True in steps in which a set with this load, (n,), would have tripped."""
        stalled = sustained(share > self.capability, max(1, math.ceil(PATIENCE_S / step_s)))
        opened: NDArray[np.bool_] = heat(share, step_s) >= self.multiplier
        return stalled | opened


USUAL_ENDURANCE = Endurance()


def heat(share: Floats, step_s: float) -> Floats:
    """(n,) overload added up, in multiples of the curve; forgotten below the rating within COOLING_S."""
    rate = np.where(share > 1.0, (share**2 - 1.0) / _K, -USUAL_MULTIPLIER / COOLING_S)
    total = np.cumsum(np.nan_to_num(rate) * step_s)
    lowest = np.minimum.accumulate(np.minimum(total, 0.0))
    added: Floats = total - lowest
    return added


def sustained(over: NDArray[np.bool_], steps: int) -> NDArray[np.bool_]:
    """(n,) True where it has been true for so many steps in a row, this one included."""
    numbers = np.arange(len(over))
    latest_false = np.maximum.accumulate(np.where(over, -1, numbers))
    return over & (numbers - latest_false >= steps)


def learned_endurance(share: Floats, step_s: float, tripped: NDArray[np.int64]) -> Endurance:
    """What a recording shows a set to endure.

    share    (n,) the generator's load over its rating as recorded, of the busiest leg; NaN where not known
    tripped  rows of `share` at which it tripped by overload
    """
    share = np.nan_to_num(share)
    survived = np.ones(len(share), bool)
    for row in tripped.tolist():
        survived[max(0, row - round(60 / step_s)) : row + 1] = False
    added = heat(share, step_s)
    at_ease = added[survived]
    most = float(at_ease.max()) if at_ease.size else 0.0
    multiplier = max(USUAL_MULTIPLIER, most)
    for row in tripped.tolist():
        begun = slice(max(0, row - round(60 / step_s)), row + 1)
        reached = float(added[begun].max())
        if 0.0 < reached < multiplier:
            multiplier = max(reached, 0.01)
    capability = max(USUAL_CAPABILITY, _carried(share * survived, step_s))
    known = most > USUAL_MULTIPLIER or capability > USUAL_CAPABILITY or bool(tripped.size)
    return Endurance(capability, multiplier, assumed=not known)


def _carried(share: Floats, step_s: float) -> float:
    """The highest load that was carried for some seconds."""
    steps = max(1, math.ceil(_SURVIVED_S / step_s))
    if len(share) < steps:
        return 0.0
    lowest = np.lib.stride_tricks.sliding_window_view(share, steps).min(axis=1)
    return float(lowest.max())
