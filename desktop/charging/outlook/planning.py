"""A whole plan: from a site sheet, a recording and wishes to the outlook and what is to be said of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from desktop.charging.outlook.as_json import Object, outlook_json
from desktop.charging.outlook.as_text import outlook_text
from desktop.charging.outlook.assumption import Assumption
from desktop.charging.outlook.basis import basis, beyond_season
from desktop.charging.outlook.candidates import candidates
from desktop.charging.outlook.cautions import Facts, cautions
from desktop.charging.outlook.choice import MOST_STARTS
from desktop.charging.outlook.evidence import Evidence
from desktop.charging.outlook.outlook import HORIZON, RUNS, Outlook, Question, outlook
from desktop.charging.outlook.reckoned import reckoned
from desktop.charging.outlook.rule import Hours, Rule
from desktop.site import Appliance, Site
from desktop.words import Phrase, template
from recordings.errors import UsageError


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a person may say beside sheet and recording; None and () leave it to them, or to what is usual.

    overcast    the share of the recorded or typed sun that comes
    fuel        how much there is, in the unit of the fuel curve
    soc         state of charge at the beginning, %
    starts, stops, limits, runs  what to compare: %, %, A, and hours of the day in which it is run
    appliances  in place of the recorded load
    sun_hours   of full sun in a typical day, in place of the recorded sun
    """

    overcast: float = 1.0
    fuel: float | None = None
    soc: float | None = None
    days: int = HORIZON
    runs_of_chance: int = RUNS
    seed: int = 1
    quiet: Hours | None = None
    starts: tuple[float, ...] = ()
    stops: tuple[float, ...] = ()
    limits: tuple[float, ...] = ()
    runs: tuple[Hours, ...] = ()
    appliances: tuple[Appliance, ...] | None = None
    sun_hours: float | None = None
    most_starts: float = MOST_STARTS


@dataclass(frozen=True, slots=True)
class Plan:
    """An outlook, and what is to be said beside it."""

    name: str
    outlook: Outlook
    cautions: tuple[Phrase, ...]
    remarks: tuple[Phrase, ...]

    def as_text(self) -> str:
        """For people."""
        return outlook_text(self.outlook, self.name, self.cautions, self.remarks)

    def as_json(self) -> Object:
        """Strict JSON values; the keys are public."""
        return outlook_json(self.outlook) | {
            "remarks": [str(one) for one in self.remarks],
            "cautions": [str(one) for one in self.cautions],
        }


def plan(
    site: Site,
    evidence: Evidence | None,
    wishes: Wishes,
    progress: Callable[[float], None] | None = None,
) -> Plan:
    """Work a plan out. UsageError where sheet, recording and wishes don't give what it needs."""
    resting = basis(site, evidence, wishes.appliances, wishes.sun_hours)
    with_what = reckoned(site, evidence, fuel=wishes.fuel, soc=wishes.soc)
    rules = candidates(
        with_what.plant,
        site.input.limit_a,
        starts=wishes.starts,
        stops=wishes.stops,
        limits=wishes.limits,
        runs=wishes.runs,
        target_soc=site.battery.target_soc if site.given("battery", "target_soc") else None,
    )
    _refuse_nonsense(rules, site.battery.reserve_soc)
    question = Question(
        first_date=resting.first_date,
        start_soc=with_what.start_soc,
        horizon=wishes.days,
        runs=wishes.runs_of_chance,
        seed=wishes.seed,
        overcast=wishes.overcast,
        quiet=wishes.quiet,
        most_starts=wishes.most_starts,
    )
    told = (*resting.assumptions, *with_what.assumptions, *_of_wishes(wishes))
    found = outlook(with_what.plant, resting.days, rules, question, told, progress)
    coldest = None if evidence is None else evidence.coldest_c
    mind = tuple(cautions(found, Facts(site, coldest, resting.appliances)))
    remarks = (*resting.remarks, *beyond_season(resting.days, resting.first_date, wishes.days))
    return Plan(site.site.name, found, mind, remarks)


def _of_wishes(wishes: Wishes) -> list[Assumption]:
    found = [
        Assumption(
            "overcast",
            template("Share of this sun that comes"),
            100 * wishes.overcast,
            "%",
            "assumed" if wishes.overcast == 1.0 else "given",
        )
    ]
    if wishes.quiet is not None:
        hours = f"{wishes.quiet.start:g}-{wishes.quiet.until:g}"
        found.append(Assumption("quiet_hours", template("Quiet hours"), hours, "", "given"))
    return found


def _refuse_nonsense(rules: tuple[Rule, ...], reserve_soc: float) -> None:
    if not rules:
        raise UsageError(
            "no rule is left to compare",
            expected="a --stop above a --start",
            mend="give other ones, or none",
        )
    lowest = min(rule.start_soc for rule in rules)
    if lowest < reserve_soc:
        raise UsageError(
            f"a start at {lowest:g} % comes too late",
            expected=f"a start at or above the battery's reserve of {reserve_soc:g} %",
            mend="start earlier, or lower battery.reserve_soc in the site sheet",
        )
