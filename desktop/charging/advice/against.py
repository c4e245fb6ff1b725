"""The advice held against the limit that is set."""

from __future__ import annotations

from dataclasses import dataclass

from desktop.charging.advice.advice import LimitAdvice, cost_h
from desktop.charging.advice.settings import Setting

AS_GOOD = 1.10
"""A setting that costs hardly more than the best one, in hours and trips, may stay: nobody is sent to change it."""


@dataclass(frozen=True, slots=True)
class Against:
    """What the advice comes to for a limit that is set.

    set_a     the limit that is set, A
    nearest   the setting that was tried nearest to it
    best      the setting that costs least
    stands_well  True where nothing is gained by another setting
    """

    set_a: float
    nearest: Setting
    best: Setting
    stands_well: bool

    @property
    def advised(self) -> Setting:
        """The setting to have: the one that is set, where that stands well."""
        return self.nearest if self.stands_well else self.best

    @property
    def lower_to(self) -> float | None:
        """The limit to lower it to, A; None where it may stay, or be raised."""
        return None if self.stands_well or self.set_a <= self.best.limit_a else self.best.limit_a


def against(advice: LimitAdvice, set_a: float | None) -> Against | None:
    """The advice against a limit; None where no setting is advised, or it isn't known which is set."""
    if advice.best is None or set_a is None:
        return None
    nearest = min(advice.settings, key=lambda each: abs(each.limit_a - set_a))
    stands_well = set_a <= advice.highest_a and cost_h(nearest) <= AS_GOOD * cost_h(advice.best)
    return Against(set_a, nearest, advice.best, stands_well)
