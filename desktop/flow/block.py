"""A run of consecutive rows, measured and reconciled: what diagnosis and energy counting work through."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.flow.streams import GAPS, INDEX

Floats = NDArray[np.float64]


@dataclass(slots=True)
class Block:
    """Consecutive rows of a recording. Powers in W.

    start           row number of the first row in the recording
    time            (n,) UTC nanoseconds
    step            (n,) seconds since the row before; NaN in the recording's very first row
    gap             (n,) True where the step before a row is too long to be bridged
    channels        channel → (n,) readings, float64, for every channel that the recording has
    measured        (10, n) what the meters say of each stream (derived ones included); NaN where nothing does
    derived         streams whose reading was worked out from others (volts times amperes)
    value           (10, n) reconciled; NaN where unobservable, 0 where the plant has no such stream
    sd              (10, n) one standard deviation of `value`
    unaccounted     (3, n) power that enters and isn't seen to leave, by place as in GAPS; NaN where not known
    unaccounted_sd  (3, n)
    chi2, dof       (n,) the global test and its degrees of freedom
    traced          (5, 5, n) source to sink
    """

    start: int
    time: NDArray[np.int64]
    step: Floats
    gap: NDArray[np.bool_]
    channels: dict[str, Floats]
    measured: Floats
    derived: frozenset[str]
    value: Floats
    sd: Floats
    unaccounted: Floats
    unaccounted_sd: Floats
    chi2: Floats
    dof: NDArray[np.int8]
    traced: Floats

    def __len__(self) -> int:
        return len(self.time)

    def channel(self, name: str) -> Floats:
        """(n,) readings of a channel; all NaN where the recording doesn't have it."""
        found = self.channels.get(name)
        return np.full(len(self.time), np.nan) if found is None else found

    def stream(self, name: str) -> Floats:
        """(n,) reconciled power of a stream."""
        row: Floats = self.value[INDEX[name]]
        return row

    def missing(self, place: str) -> Floats:
        """(n,) unaccounted power at a place of GAPS."""
        row: Floats = self.unaccounted[GAPS.index(place)]
        return row
