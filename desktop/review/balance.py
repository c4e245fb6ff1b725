"""How well the powers of a whole recording add up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.energy import unaccounted_in_all
from desktop.charging.integrals import Sums
from desktop.flow.block import Block

CHI2_95 = np.array([np.nan, 3.841459, 5.991465, 7.814728, 9.487729, 11.070498, 12.591587])
"""The 95 % point of χ² by degrees of freedom (any table of the distribution)."""


@dataclass(frozen=True, slots=True)
class Balance:
    """How well the powers add up.

    degrees_of_freedom  of the global test, as in most rows
    in_balance_share    share of the rows that pass the global test at 95 %; NaN where none can be tested
    unaccounted_mean_w  mean unaccounted power of all places, W
    unaccounted_p95_w   what its magnitude stays below in 95 % of the rows, W
    """

    degrees_of_freedom: int
    in_balance_share: float
    unaccounted_mean_w: float
    unaccounted_p95_w: float


class BalanceCounter:
    """Counts blocks that follow each other."""

    def __init__(self) -> None:
        self._freedoms = np.zeros(len(CHI2_95), np.int64)
        self._passed = 0
        self._tested = 0
        self._unaccounted = Sums(2)

    def extend(self, block: Block) -> None:
        """Count the next rows."""
        self._freedoms += np.bincount(block.dof, minlength=len(CHI2_95))
        tested = (block.dof > 0) & np.isfinite(block.chi2)
        self._tested += int(np.count_nonzero(tested))
        self._passed += int(np.count_nonzero(tested & (block.chi2 <= CHI2_95[block.dof])))
        total, _ = unaccounted_in_all(block)
        known = np.isfinite(total)
        self._unaccounted.add(np.array([np.where(known, total, 0.0).sum(), np.count_nonzero(known)]))

    def balance(self, unaccounted: NDArray[np.float32]) -> Balance:
        """The balance so far. `unaccounted` is the (n,) unaccounted power of all rows, W."""
        summed, known = self._unaccounted.total.tolist()
        magnitude = np.abs(unaccounted[np.isfinite(unaccounted)])
        return Balance(
            int(np.argmax(self._freedoms)),
            self._passed / self._tested if self._tested else float("nan"),
            summed / known if known else float("nan"),
            float(np.percentile(magnitude, 95)) if magnitude.size else float("nan"),
        )
