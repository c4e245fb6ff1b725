"""Which way a battery counts: told by its charge state, since the models leave it open."""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass

_DISCHARGING, _CHARGING = 3, 4
_VOTES_TO_SETTLE, _MOST_VOTES = 3, 12
_LEAST_A, _LEAST_W = 0.5, 25.0

_remembered: dict[Hashable, int] = {}
"""Device → the sign that its charge state has settled."""


class ChargeSign:
    """Settles the sign of a battery's current and power by what its charge state says meanwhile.

    The charge state may lag behind the current by a reading or two, so one reading is not enough, and later
    ones may overrule it.

    assumed  1 or -1, for a device that tells no charge state
    device   by which device it is remembered once it is settled, as long as the program runs: one that comes
             back needn't be asked anew; None to remember nothing
    """

    def __init__(self, assumed: int, device: Hashable = None) -> None:
        self._assumed, self._device = assumed, device
        self._votes = _VOTES_TO_SETTLE * _remembered.get(device, 0)
        self._has_state = False

    @property
    def settled(self) -> bool:
        """True once the charge state has told."""
        return abs(self._votes) >= _VOTES_TO_SETTLE

    def hear(self, state: float | None, flow: Flow) -> None:
        """Take one reading: the charge state, and what flows as the device counts it."""
        self._has_state = self._has_state or state is not None
        if not flow.counts or state not in (_CHARGING, _DISCHARGING):
            return
        into = 1 if state == _CHARGING else -1
        vote = into if flow.positive else -into
        self._votes = max(-_MOST_VOTES, min(_MOST_VOTES, self._votes + vote))
        if self.settled and self._device is not None:
            _remembered[self._device] = 1 if self._votes > 0 else -1

    def sign(self, flow: Flow) -> float:
        """1 where the device counts what flows into the battery as positive, -1 where it is the other way.

        NaN while something flows, the device tells its charge state, and that hasn't settled it yet. A device
        without charge state is taken as assumed.
        """
        if self.settled:
            return 1.0 if self._votes > 0 else -1.0
        if self._has_state and flow.counts:
            return math.nan
        return float(self._assumed)


@dataclass(frozen=True, slots=True)
class Flow:
    """What flows through a battery as the device counts it: current and power, NaN where it doesn't tell."""

    amperes: float = math.nan
    watts: float = math.nan

    @property
    def counts(self) -> bool:
        """True where enough flows for its direction to mean something."""
        return abs(self.amperes) >= _LEAST_A or abs(self.watts) >= _LEAST_W

    @property
    def positive(self) -> bool:
        """Which way, as the device counts; the current goes before the power."""
        return self.amperes > 0 if abs(self.amperes) >= _LEAST_A else self.watts > 0
