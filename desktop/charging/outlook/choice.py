"""Which rule is best, and why: least fuel of those that keep the house served without wearing out the starter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from desktop.charging.outlook.outcome import RuleOutcome
from desktop.words import Phrase

UNSERVED = 0.001
"""Of what the house asks for, so much may be missed: a minute and a half of a day."""

MOST_STARTS = 2.0
"""A household can be asked for so many starts a day."""

AS_LITTLE = 0.02
"""Rules whose fuel differs by less than this share burn the same, as far as an outlook can tell."""

_SAME_HOURS = 0.05

_NIGHT = (22, 23, 0, 1, 2, 3, 4, 5, 6)
_AT_NIGHT = 0.3
"""From this share of its starts on a rule gets people out of bed."""


@dataclass(frozen=True, slots=True)
class Choice:
    """The number of the best rule, and the reason."""

    best: int
    reason: Phrase


def choose(outcomes: Sequence[RuleOutcome], rated_a: float, most_starts: float = MOST_STARTS) -> Choice:
    """The best of the outcomes.

    rated_a  the highest input limit that the generator can carry, A
    """
    numbers = range(len(outcomes))
    bearable = [n for n in numbers if outcomes[n].rule.limit_a <= rated_a * (1 + 1e-9)] or list(numbers)
    served = [n for n in bearable if outcomes[n].unserved_share <= UNSERVED]
    fit = [n for n in served if outcomes[n].starts_per_day.p50 <= most_starts]
    if fit:
        return _least_fuel(outcomes, fit, most_starts)
    if served:
        best = min(served, key=lambda n: (outcomes[n].starts_per_day.p50, outcomes[n].fuel_per_day.p50))
        return Choice(
            best,
            Phrase(
                "None of the {count:d} rules does with {starts:.0f} starts a day; of those that keep the house "
                "supplied this one has the fewest.",
                count=len(outcomes),
                starts=most_starts,
            ),
        )
    best = min(bearable, key=lambda n: (outcomes[n].unserved_share, outcomes[n].fuel_per_day.p50))
    return Choice(
        best,
        Phrase(
            "None of the {count:d} rules keeps the house supplied throughout; this one leaves out the least.",
            count=len(outcomes),
        ),
    )


def _at_night(outcome: RuleOutcome) -> bool:
    """True where it is started at night more often than now and then."""
    return bool(outcome.starts_by_hour[list(_NIGHT)].sum() > _AT_NIGHT)


def _least_fuel(outcomes: Sequence[RuleOutcome], fit: Sequence[int], most_starts: float) -> Choice:
    fuel = {n: outcomes[n].fuel_per_day.p50 for n in fit}
    least, most = min(fuel.values()), max(fuel.values())
    if not most > 0:
        return Choice(fit[0], Phrase("The generator isn't needed under any rule."))
    frugal = [n for n in fit if fuel[n] <= least * (1 + AS_LITTLE)]
    hours = {n: outcomes[n].hours_per_day.p50 for n in frugal}
    short = [n for n in frugal if hours[n] <= min(hours.values()) * (1 + _SAME_HOURS)]
    best = min(short, key=lambda n: (_at_night(outcomes[n]), outcomes[n].starts_per_day.p50, fuel[n]))
    values: dict[str, Any] = {
        "count": len(outcomes),
        "fit": len(fit),
        "starts": most_starts,
        "less": 100 * (1 - fuel[best] / most),
    }
    if len(frugal) == 1:
        return Choice(
            best,
            Phrase(
                "Of {count:d} rules {fit:d} keep the house supplied with at most {starts:.0f} starts a day; this "
                "one burns the least, {less:%} less than the costliest of them.",
                **values,
            ),
        )
    return Choice(
        best,
        Phrase(
            "Of {count:d} rules {fit:d} keep the house supplied with at most {starts:.0f} starts a day; this "
            "one burns as little as any, {less:%} less than the costliest of them, and among the thriftiest it "
            "runs for few hours and starts seldom.",
            **values,
        ),
    )
